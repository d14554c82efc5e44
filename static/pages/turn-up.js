/** Turning up: the unit is started, then one channel after the other goes up until the movement is there; then its number is copied. */
import { begin, draftOf, exerciseOf } from "../parts/begin.js";
import { every, one, onPress } from "../parts/elements.js";
import { allRecords } from "../parts/log_store.js";
import { screensOf } from "../parts/screens.js";
import { ENDED, NOT_ANSWERED, withAt } from "../parts/session.js";
import { wireStopping } from "../parts/stopping.js";
import { knownStrengths } from "../parts/strength_history.js";
import { keepStrength } from "../parts/strength_keeper.js";

const here = await begin(document, "turn-up");
const group = one(document, ".steps");
const screens = screensOf(group);
const known = knownStrengths(exerciseOf(here), await allRecords(here.db));
const channels = every(group, "[data-step=channel]");
let channel = 0;

wireStopping(here);
onPress(group, "[data-started]", () => screens.show(channels[0]));
onPress(group, "[data-not-started]", () => screens.show("no-start"));
onPress(group, "[data-start-again]", () => screens.show("start"));
onPress(group, "[data-cannot]", () => {
  const draft = draftOf(here);
  return here.go(`end-${draft.exercise}`, { ...draft, stage: "end", ended: ENDED.unit });
});
onPress(group, "[data-not-there]", () => screens.show("not-there"));
onPress(group, "[data-try-again]", () => screens.show(channels[channel]));
channels.forEach((step) => onPress(step, "[data-there]", () => { screens.next(); }));

/** Notes a channel's number, then the next channel, or on to the timer. @param {number} n @param {number} number */
function note(n, number) {
  const draft = { ...draftOf(here), strength: withAt(draftOf(here).strength, n, number) };
  channel = n + 1;
  const next = channels[channel];
  if (!next) return here.go(group.dataset["next"] ?? "today", { ...draft, stage: "timer" });
  screens.show(next);
  return here.save(draft);
}

every(group, "[data-step=number]").forEach((step, n) => {
  const shown = /** @type {HTMLButtonElement} */ (one(step, "[data-shown]"));
  const kept = keepStrength(one(step, "[data-strength]"), {
    number: NOT_ANSWERED.strength, say: here.say, onChange: (_number, allowed) => { shown.disabled = !allowed; },
  });
  const noted = draftOf(here).strength[n] ?? NOT_ANSWERED.strength; // before a pause, or before it stopped
  const before = noted > 0 ? { number: noted, from: "last" } : known[n];
  const same = one(step, "[data-known]");
  if (before) {
    same.textContent = here.say(`phone.strength.as_${before.from}`, { n: before.number });
    same.hidden = false;
  }
  same.addEventListener("click", () => { if (before) kept.set(before.number); });
  shown.addEventListener("click", () => {
    if (kept.number() < 0) return kept.ask(here.say("phone.strength.note_it"));
    return note(n, kept.number());
  });
  onPress(step, "[data-no-number]", () => note(n, NOT_ANSWERED.strength));
  onPress(step, "[data-back]", () => screens.back());
});
