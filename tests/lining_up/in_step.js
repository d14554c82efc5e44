/** A 30 minute session of a unit with its own clock, tapped at its rises; the player is only the line that it is told to follow. */
import { keepInStep, restAt } from "../../static/parts/in_step.js";

export { restAt };

const CYCLE_MS = 20_000;
const CYCLES = 90;
const LAG_MS = 800; // half a ramp of a second and the reaction
const EACH_MS = 250;
const phrase = (/** @type {"rise" | "hold" | "ease" | "rest"} */ phase) => ({ tone: phase, channels: [1], phase, text: phase, clip: "", seconds: true });
const EDGES = [0, 1000, 7000, 8000];

/** @type {import("../../static/parts/cue_sounds.js").CueSheet} */
export const SHEET = /** @type {any} */ ({
  format: "wattlebird.cue_sheet/1", exercise: 1, drive: "cycled", session_ms: CYCLES * CYCLE_MS, cycle_ms: CYCLE_MS, first_rise_ms: 0,
  at_end: "cut", may_run_on_ms: 0,
  channels: [{ channel: 1, contractions: CYCLES, on_ms: 0, hill: [[0, 0], [1000, 1000], [7000, 1000], [8000, 0], [CYCLE_MS, 0]] }],
  phrases: [phrase("rise"), phrase("hold"), phrase("ease"), phrase("rest")],
  cues: Array.from({ length: CYCLES }, (_, n) => EDGES.map((edge, k) => [n * CYCLE_MS + edge, k, 0, n + 1, 1, 0, 0, 0, 0])).flat(),
});

/** @param {{ppm: number, taps: number}} of */
export function session({ ppm, taps }) {
  let [wallMs, zeroMs, stretch, state] = [0, 0, 1, "ready"];
  const player = {
    start: (/** @type {number} */ zero) => { zeroMs = zero; state = "running"; },
    follow: (/** @type {number} */ zero, /** @type {number} */ by) => { zeroMs = zero; stretch = 1 + by / 1e6; },
    positionMs: () => (wallMs - zeroMs) / stretch,
    get state() { return state; },
  };
  const step = keepInStep({ sheet: SHEET, player, reactionMs: 300, ownSign: false, cuedMs: 0, remembered: null });
  const unitMs = CYCLE_MS * (1 + ppm / 1e6);
  const tapped = new Set(Array.from({ length: taps }, (_, n) => n * 10));
  let found = null;
  for (let n = 0; n < CYCLES; n++) {
    const rise = n * unitMs;
    if (tapped.has(n)) {
      wallMs = rise + LAG_MS + (n % 3) * 40;
      found = step.tap(wallMs);
    }
    for (; wallMs < rise + unitMs; wallMs += EACH_MS) step.follow(wallMs);
  }
  const off = (wallMs - CYCLES * unitMs) / (1 + ppm / 1e6) - (player.positionMs() - CYCLES * CYCLE_MS);
  return {
    periodPpm: step.periodPpm(), different: found?.setDifferently ?? false, remembered: step.toRemember(), ratio: stretch,
    endErrorMs: off - CYCLE_MS * Math.round(off / CYCLE_MS),
  };
}
