/** Unit on, both strengths at zero: its own steps, then its settings looked at. */
import { begin, draftOf, exerciseOf } from "../parts/begin.js";
import { every, one, onPress } from "../parts/elements.js";
import { allRecords } from "../parts/log_store.js";
import { otherMinutesBefore } from "../parts/minutes_history.js";
import { screensOf } from "../parts/screens.js";
import { ENDED, skipped } from "../parts/session.js";
import { setUpLength, shorten } from "../parts/set_up_length.js";
import { onStep } from "../parts/step_times.js";
import { wireStopping } from "../parts/stopping.js";

const here = await begin(document, "zero");
const group = one(document, ".steps");
const log = await allRecords(here.db);
const length = setUpLength(exerciseOf(here), here.plan, log, here.nowMin());
if (length.short && !draftOf(here).whole) shorten(group, (n, all) => here.say("phone.steps.of", { n, all }), length.check);
const screens = screensOf(group);
/**
 * Notes how long the step before took; the look at the settings is none, and after a pause nothing is set up anew.
 * @param {number} [step]
 */
const timed = (step = Number(screens.now().dataset["number"] ?? 0)) =>
  draftOf(here).cued_ms > 0 ? draftOf(here) : onStep(draftOf(here), step, Date.now());
const toTurnUp = () => here.go(group.dataset["next"] ?? "today", { ...timed(0), stage: "turn-up" });
/** @param {HTMLElement} step */
async function show(step) {
  screens.show(step);
  await here.save(timed());
}
function goOn() {
  const next = screens.steps.slice(screens.steps.indexOf(screens.now()) + 1).find((step) => !step.hidden);
  if (!next || next.dataset["step"] === "other") return toTurnUp();
  return show(next);
}
const inMinutes = (/** @type {number} */ seconds) => here.say("phone.minutes", { n: Math.round(seconds / 60) });
function showMinutes() {
  for (const cell of every(document, "[data-minutes]")) cell.textContent = inMinutes(draftOf(here).planned_s);
}
showMinutes();

/** A step of the build-up: the unit's own minutes come first; who cannot set them goes on as before. @param {number} beforeS */
function askForMinutes(beforeS) {
  for (const step of every(group, "[data-step=minutes]")) {
    step.hidden = false;
    one(step, "[data-new-minutes]").textContent = here.say("phone.zero.new_minutes", { minutes: inMinutes(draftOf(here).planned_s) });
    one(step, "[data-minutes-kept]").textContent = here.say("phone.zero.as_before", { minutes: inMinutes(beforeS) });
    if (screens.now().dataset["step"] === "same") screens.show(step);
  }
  onPress(group, "[data-minutes-set]", goOn);
  onPress(group, "[data-minutes-kept]", async () => {
    await here.save({ ...draftOf(here), planned_s: beforeS });
    showMinutes();
    await goOn();
  });
}
const beforeS = otherMinutesBefore(here.exercise, draftOf(here).planned_s, log);
if (beforeS !== null && draftOf(here).cued_ms === 0) askForMinutes(beforeS);

wireStopping(here);
onPress(group, "[data-done]", goOn);
onPress(group, "[data-back]", async () => {
  screens.back();
  await here.save(timed());
});
onPress(group, "[data-skip]", async () => {
  await here.save(skipped(draftOf(here), Number(screens.now().dataset["number"])));
  await goOn();
});
onPress(group, "[data-same]", goOn);
onPress(group, "[data-other]", () => screens.show("other"));
onPress(group, "[data-look-again]", () => screens.show("same"));
onPress(group, "[data-cannot]", () => {
  const draft = draftOf(here);
  return here.go(`end-${draft.exercise}`, { ...draft, stage: "end", ended: ENDED.unit });
});
await here.save(timed());
