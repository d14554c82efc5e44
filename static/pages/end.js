/** The end: "your unit may still be on" until the client says that it is off; only then the pads. */
import { loadSounds, openAudio, unlock } from "../parts/audio.js";
import { begin, draftOf, exerciseOf } from "../parts/begin.js";
import { readChoices } from "../parts/choices.js";
import { one, onPress } from "../parts/elements.js";
import { screensOf } from "../parts/screens.js";
import { pickSounds } from "../parts/sound_list.js";
import { remind, remindersDue } from "../parts/still_on.js";
import { saysOff } from "../parts/unit_state.js";

const here = await begin(document, "end");
const group = one(document, ".steps");
const screens = screensOf(group);
const state = one(document, "[data-state]");
const off = new URLSearchParams(location.search).has("off"); // said a moment ago, on the page before
let hush = () => {};

function isOff() {
  hush();
  saysOff(document);
  screens.show("pads");
}

/** @param {number} endedMs */
async function keepReminding(endedMs) {
  const context = openAudio();
  document.addEventListener("click", () => void unlock(context), { once: true, capture: true });
  const paths = [`data/cues-${exerciseOf(here).exercise}.json`, "data/sounds.json"];
  const [sheet, listed] = await Promise.all(paths.map(async (path) => (await fetch(path)).json()));
  const { tone, clip } = sheet.phrases[sheet.cues.at(-1)[1]];
  const { sounds } = await loadSounds(context, pickSounds(listed, new Set([tone, clip])));
  if (!state.classList.contains("off")) hush = remind({ context, sheet, sounds, choices: await readChoices(here.db), endedMs });
}

if (off) isOff();
onPress(group, "[data-done]", () => screens.next());
onPress(group, "[data-was-off]", isOff);
onPress(group, "[data-off]", isOff);
onPress(group, "[data-pads-off]", () => here.go(group.dataset["next"] ?? "today", { ...draftOf(here), stage: "skin-after" }));
const endedMs = off ? undefined : here.draft?.ended_ms;
if (endedMs && remindersDue(endedMs, Date.now()).length > 0) void keepReminding(endedMs);
