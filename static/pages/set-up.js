/** Set-up: one step a screen with the unit off; how long each takes is noted, and which are skipped. */
import { begin, draftOf, exerciseOf } from "../parts/begin.js";
import { carryEvents } from "../parts/carry_home.js";
import { one, onPress } from "../parts/elements.js";
import { allRecords, getMeta } from "../parts/log_store.js";
import { screensOf } from "../parts/screens.js";
import { skipped } from "../parts/session.js";
import { setUpLength, shorten } from "../parts/set_up_length.js";
import { onStep } from "../parts/step_times.js";

const here = await begin(document, "set-up");
carryEvents.addEventListener("other_rests", () => here.go("today")); // nothing is on yet: it says what rests
const group = one(document, ".steps");
const { short } = setUpLength(exerciseOf(here), here.plan, await allRecords(here.db), here.nowMin());
if (short && !draftOf(here).whole) {
  shorten(group, (n, all) => here.say("phone.steps.of", { n, all }));
  one(document, "[data-short]").hidden = false;
}
const screens = screensOf(group);
const before = draftOf(here).step_now?.step; // come back to within the hour: on from the step that was shown, or the last
if (before !== undefined) screens.show(screens.steps.find((step) => Number(step.dataset["number"]) === before) ?? screens.steps.at(-1));
onPress(document, "[data-whole]", async () => {
  const { step_now: _shown, ...draft } = onStep(draftOf(here), 0, Date.now());
  await here.save({ ...draft, whole: true }); // all of them, from the first
  location.reload();
});

const noteStep = () => here.save(onStep(draftOf(here), Number(screens.now().dataset["number"]), Date.now()));

const goOn = async () => {
  if (screens.next()) {
    await noteStep();
    return;
  }
  const next = group.dataset["next"] ?? "today";
  const over = onStep(draftOf(here), 0, Date.now());
  if (await getMeta(here.db, "sound_ok")) await here.go(next, { ...over, stage: "zero" });
  else await here.go(`sound-check?then=${next}`, over);
};

onPress(group, "[data-done]", goOn);
onPress(group, "[data-back]", async () => {
  screens.back();
  await noteStep();
});
onPress(group, "[data-skip]", async () => {
  await here.save(skipped(draftOf(here), Number(screens.now().dataset["number"])));
  await goOn();
});
await noteStep();
