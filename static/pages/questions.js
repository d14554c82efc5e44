/** As few questions as the plan asks for; then the session is closed and saved. */
import { isAsked } from "../parts/asked.js";
import { begin, draftOf, exerciseOf } from "../parts/begin.js";
import { dayState } from "../parts/day.js";
import { every, one, onPress } from "../parts/elements.js";
import { allRecords, closeDraft } from "../parts/log_store.js";
import { screensOf } from "../parts/screens.js";
import { noteRoom, sessionFields } from "../parts/session.js";

/** @type {Record<string, "pain_after_n" | "effort_n" | "help" | "answered_by">} */
const FIELDS = { pain: "pain_after_n", effort: "effort_n", help: "help", answered_by: "answered_by" };

const here = await begin(document, "questions");
const exercise = exerciseOf(here);
const day = dayState(here.plan, await allRecords(here.db), here.nowMin());
const group = one(document, ".steps");
for (const step of every(group, "[data-step]")) if (!isWanted(step.dataset["step"] ?? "")) step.remove();
const screens = screensOf(group);
for (const back of every(group, "[data-back]")) back.hidden = back.closest("[data-step]") === screens.steps[0];
onPress(group, "[data-back]", () => screens.back());
screens.show(screens.steps[0]);
if (screens.steps.length === 1) await save();

/** @param {string} name */
function isWanted(name) {
  if (name === "save") return true;
  if (name === "answered_by") return ["pain", "effort", "help", "note"].some(isWanted);
  return isAsked(here.plan.asks[name], exercise, day);
}

onPress(group, "[data-value]", async (button) => {
  const field = FIELDS[screens.now().dataset["step"] ?? ""];
  if (field) await here.save({ ...draftOf(here), [field]: Number(button.dataset["value"]) });
  await goOn();
});
onPress(group, "[data-note-done]", goOn);
onPress(group, "[data-save]", save);
for (const box of /** @type {HTMLTextAreaElement[]} */ (every(group, "[data-note]"))) {
  box.value = draftOf(here).note;
  box.addEventListener("input", async () => {
    one(group, "[data-room]").textContent = noteRoom(box.value) < 0 ? here.say("phone.note_long") : "";
    await here.save({ ...draftOf(here), note: box.value });
  });
}

async function goOn() {
  screens.next();
  if (screens.now().dataset["step"] === "save") await save();
}

async function save() {
  try {
    await here.save(draftOf(here));
    await closeDraft(here.db, sessionFields(draftOf(here), exercise.shows));
  } catch {
    one(group, "[data-not-saved]").hidden = false;
    return;
  }
  here.draft = null;
  await here.go("done");
}
