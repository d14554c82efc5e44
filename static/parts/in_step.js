/** Keeps the cues of a cycled unit in step with it: taps become an estimate, and the player follows the estimate smoothly. */
import { createLiningUp, expectedLag } from "./lining_up.js";
import { towards } from "./smooth_following.js";
import { edgesOf } from "./tap_asking.js";

const PERIOD_NOT_KNOWN = 1_000_000;
const MOST_PPM = 100_000;

/**
 * @typedef {import("./lining_up.js").Remembered} Remembered
 * @typedef {{start: (zeroMs: number) => void, follow: (zeroMs: number, ppm: number) => void, positionMs: () => number, readonly state: string}} Followed
 */

/**
 * @param {object} of
 * @param {import("./cue_sounds.js").CueSheet} of.sheet
 * @param {Followed} of.player
 * @param {number} of.reactionMs
 * @param {boolean} of.ownSign  whether the client taps on a sign that the unit itself gives
 * @param {number} [of.noticedMs]  how long after the start of a rise the client notices it, by the first trial; 0 unknown
 * @param {number} of.cuedMs  what earlier runs of this session have cued
 * @param {Remembered | null} of.remembered  this unit's clock, found in an earlier session
 */
export function keepInStep({ sheet, player, reactionMs, ownSign, noticedMs = 0, cuedMs, remembered }) {
  const edges = edgesOf(sheet.channels[0]?.hill ?? []);
  const lag = expectedLag({ rampMs: edges.holdMs, reactionMs, ownSign, noticedMs });
  const liningUp = createLiningUp({
    cycleMs: sheet.cycle_ms, firstRiseMs: sheet.first_rise_ms, sessionMs: sheet.session_ms, edges, ...lag, reactionMs, remembered, cuedMs,
  });
  /** @type {import("./smooth_following.js").Line | null} */
  let line = null;
  /** @type {import("./smooth_following.js").Line | null} */
  let goal = null;

  /** @param {import("./smooth_following.js").Line} to */
  function take({ zeroMs, ratio }) {
    line = { zeroMs, ratio };
    player.follow(zeroMs, (ratio - 1) * 1e6);
  }

  return {
    /** @param {number} wallMs */
    tap(wallMs) {
      const found = liningUp.tap(wallMs);
      if (player.state === "ready") {
        player.start(found.zeroMs);
        take(found);
      } else goal = { zeroMs: found.zeroMs, ratio: found.ratio };
      return found;
    },
    /**
     * Goes a little of the way to what the taps say; asked at each cue and once a second.
     * @param {number} wallMs
     */
    follow(wallMs) {
      if (!line || !goal || player.state !== "running") return;
      const next = towards({ now: line, goal, wallMs, cycleMs: sheet.cycle_ms, rest: restAt(sheet, player.positionMs()) });
      if (next.changed) take(next);
      if (next.done) goal = null;
    },
    /** Whether to ask for a tap now. @param {number} wallMs */
    wantsTap: (wallMs) => player.state === "running" && liningUp.wantsTap(wallMs),
    /** The unit's clock for the log, in millionths from nominal. */
    periodPpm() {
      if (!line) return PERIOD_NOT_KNOWN;
      const { known, setDifferently, ppm } = liningUp.estimate(performance.now());
      return known || setDifferently ? Math.max(-MOST_PPM, Math.min(MOST_PPM, ppm)) : PERIOD_NOT_KNOWN;
    },
    toRemember: () => liningUp.toRemember(),
  };
}

/**
 * The rest that a session stands in: from the cue that began it to the next one.
 * @param {import("./cue_sounds.js").CueSheet} sheet
 * @param {number} positionMs
 */
export function restAt(sheet, positionMs) {
  const next = sheet.cues.findIndex(([atMs]) => atMs > positionMs);
  const last = sheet.cues[next - 1];
  const coming = sheet.cues[next];
  if (!last || !coming || sheet.phrases[last[1]]?.phase !== "rest") return null;
  return { fromMs: last[0], toMs: coming[0] };
}
