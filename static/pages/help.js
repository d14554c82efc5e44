/** Help as a page of its own: what to do, when to stop, whom to call. A session under way is left alone. */
import { begin, pageOf } from "../parts/begin.js";
import { every, one } from "../parts/elements.js";
import { wireReadAloud } from "../parts/read_aloud.js";
import { unitMayBeOn } from "../parts/session.js";

for (const button of every(document, "[data-read-aloud]")) void wireReadAloud(button); // needs no log: it works where that cannot be opened
const here = await begin(document, null, "none");
if (here.draft && !unitMayBeOn(here.draft.stage)) {
  for (const back of every(document, "[data-return], [data-back]")) back.setAttribute("href", pageOf(here.draft));
  one(document, "[data-return]").textContent = here.say("phone.help.back");
}
