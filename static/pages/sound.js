/** Sound: what the client wants to hear, tried at once and kept on this phone; and the sound for those who put the phone away. */
import { openAudio, loadSounds, unlock } from "../parts/audio.js";
import { begin } from "../parts/begin.js";
import { choose, readChoices } from "../parts/choices.js";
import { cueAt, placeCue } from "../parts/cue_sounds.js";
import { every, one, onPress } from "../parts/elements.js";
import { vibrate } from "../parts/keep_awake.js";
import { listenCard } from "../parts/listen_card.js";
import { dayOf } from "../parts/local_time.js";
import { sessionsAhead } from "../parts/listening.js";
import { pickSounds } from "../parts/sound_list.js";

const here = await begin(document, null);
const VOLUMES = /** @type {Record<string, number>} */ ({ full: 1, softer: 0.5, soft: 0.25 });
const kept = one(document, "[data-kept]");
const picks = every(document, "[data-choice]");
const context = openAudio();
const sheet = await (await fetch(`data/cues-${here.plan.exercises[0]?.exercise ?? 1}.json`)).json();
const first = cueAt(sheet, Math.max(0, sheet.cues.findIndex((/** @type {number[]} */ row) => row[4] === 2)));
const loading = fetch("data/sounds.json").then((listed) => listed.json())
  .then((listed) => loadSounds(context, pickSounds(listed, new Set([first.phrase.tone, first.phrase.clip]))));
const listening = listenCard(one(document, ".listen"), here, sessionsAhead(here.plan.days, dayOf(here.nowMin())));

/** @param {import("../parts/choices.js").Choices} choices */
function show(choices) {
  const volume = Object.entries(VOLUMES).find(([, gain]) => gain === choices.volume)?.[0] ?? "full";
  const shown = /** @type {Record<string, string>} */ ({ voice: choices.voice, said: choices.said, volume, vibration: choices.vibration ? "yes" : "no" });
  for (const pick of picks) mark(pick, shown[pick.dataset["choice"] ?? ""] ?? "");
  return listening.show(choices);
}

/**
 * Marks what is chosen, and says it where the choices are folded away.
 * @param {HTMLElement} pick
 * @param {string} value
 */
function mark(pick, value) {
  for (const each of /** @type {HTMLInputElement[]} */ (every(pick, "input"))) {
    each.checked = each.value === value;
    if (each.checked) one(pick, "[data-chosen]").textContent = each.parentElement?.textContent ?? "";
  }
}

/**
 * @param {string} name
 * @param {string} value
 */
function chosen(name, value) {
  if (name === "volume") return { volume: VOLUMES[value] ?? 1 };
  return name === "vibration" ? { vibration: value === "yes" } : { [name]: value };
}

for (const pick of picks) {
  pick.addEventListener("change", async (event) => {
    const { name, value } = /** @type {HTMLInputElement} */ (event.target);
    const choices = await choose(here.db, chosen(name, value));
    kept.textContent = here.say("phone.sound.kept");
    await show(choices);
  });
}

onPress(document, "[data-try]", async () => {
  const running = unlock(context);
  const [choices, { sounds }] = await Promise.all([readChoices(here.db), loading, running]);
  const output = new GainNode(context, { gain: Math.min(1, choices.volume) });
  output.connect(context.destination);
  const heard = placeCue(context, output, first, context.currentTime, { clips: sounds, tones: sounds }, choices.voice);
  if (!heard) kept.textContent = here.say("phone.sound.silent");
  if (choices.vibration) vibrate(first.phrase.phase);
});
one(document, "[data-check]").setAttribute("href", "sound-check?then=sound");
await show(await readChoices(here.db));
