/** Done: well done, or whom to tell first; what is saved on this phone, and whether the therapist has it. */
import { begin } from "../parts/begin.js";
import { one } from "../parts/elements.js";
import { allRecords, storeEvents } from "../parts/log_store.js";
import { minutesDone } from "../parts/minutes_done.js";
import { meansNoPractice, outcome } from "../parts/skin_rules.js";
import { tellsFirst } from "../parts/telling.js";

const DONE = 1;
const here = await begin(document);

/** Says what the end means: praise belongs to a practice that was done and hurt nobody. @param {any} session */
function showEnd(session) {
  const tell = tellsFirst(here.plan, session);
  const skin = meansNoPractice(outcome(here.plan.skin_after, session.skin_after));
  const kind = tell || skin ? "tell" : session.ended === DONE ? "well" : "early";
  one(document, "[data-title]").textContent = here.say(`phone.done.title.${kind}`);
  one(document, "[data-well]").toggleAttribute("hidden", kind !== "well");
  one(document, "[data-early]").hidden = kind !== "early";
  one(document, "[data-tell]").hidden = !tell;
  one(document, "[data-skin]").hidden = !skin;
  one(document, "[data-call]").hidden = kind !== "tell";
  one(document, "[data-on]").classList.toggle("go", kind !== "tell"); // the call is what to press
  const minutes = one(document, "[data-minutes]");
  minutes.hidden = session.cued_s === 0;
  minutes.textContent = here.say("phone.done.minutes", { minutes: minutesDone(here.say, session.cued_s) });
}

async function show() {
  const session = (await allRecords(here.db)).filter((kept) => kept.kind === "session").at(-1);
  if (!session) return;
  showEnd(session.record);
  if (session.received_ms === 0) return;
  one(document, "[data-send]").hidden = true;
  one(document, "[data-received-tick]").textContent = "✓";
  one(document, "[data-received-tick]").classList.add("done");
  one(document, "[data-received-words]").textContent = here.say("phone.done.received");
}

if (here.plan.asks["skin_later"] === "never") one(document, "[data-later-words]").hidden = true;
storeEvents.addEventListener("received", show);
await show();
