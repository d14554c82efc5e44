/** Wait an hour: when to look at the skin again. */
import { begin } from "../parts/begin.js";
import { dayState } from "../parts/day.js";
import { one } from "../parts/elements.js";
import { clockWords } from "../parts/local_time.js";
import { allRecords } from "../parts/log_store.js";

const here = await begin(document);
const day = dayState(here.plan, await allRecords(here.db), here.nowMin());
if (day.kind === "wait") {
  const time = clockWords(day.not_before_min, here.plan.language);
  one(document, "[data-when]").textContent = here.say("phone.wait.when", { time });
}
