/** After the end: at most three more spoken reminders, one a minute, that the unit may still be on. Placed on the audio clock at once. */
import { cueAt, placeCue } from "./cue_sounds.js";

const EVERY_MS = 60_000;
const MOST = 3;

/**
 * The reminders still to come, in ms from now. Pure.
 * @param {number} endedMs  wall clock
 * @param {number} nowMs
 * @returns {number[]}
 */
export function remindersDue(endedMs, nowMs) {
  const all = Array.from({ length: MOST }, (_, n) => endedMs + (n + 1) * EVERY_MS - nowMs);
  return all.filter((inMs) => inMs > 0);
}

/**
 * Has the words of the end said again until it is stopped. Where sound may not start by itself it starts with the next tap.
 * @param {object} of
 * @param {AudioContext} of.context
 * @param {import("./cue_sounds.js").CueSheet} of.sheet
 * @param {Map<string, AudioBuffer>} of.sounds
 * @param {import("./choices.js").Choices} of.choices
 * @param {number} of.endedMs  wall clock of the end of the cues
 * @returns {() => void} stops it
 */
export function remind({ context, sheet, sounds, choices, endedMs }) {
  const output = new GainNode(context, { gain: Math.min(1, choices.volume) });
  output.connect(context.destination);
  const last = cueAt(sheet, sheet.cues.length - 1);
  /** @type {AudioBufferSourceNode[]} */
  let placed = [];

  function takeBack() {
    for (const source of placed) source.stop();
    placed = [];
  }

  function place() {
    if (context.state !== "running") return;
    takeBack();
    placed = remindersDue(endedMs, Date.now()).flatMap((inMs) =>
      placeCue(context, output, last, context.currentTime + inMs / 1000, { clips: sounds, tones: sounds }, choices.voice)?.sources ?? []);
  }

  context.addEventListener("statechange", place);
  place();
  return () => {
    context.removeEventListener("statechange", place);
    takeBack();
  };
}
