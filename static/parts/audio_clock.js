/**
 * The audio clock against the page's clock.
 *
 * The audio clock is not wall time: each gap in the output pushes it back for good, and after an interruption it may say "running" and
 * stand still. So each cue is mapped from wall time, anew until it begins, and the clock is watched.
 *
 * @typedef {"suspended" | "interrupted" | "closed" | "frozen"} Stall
 */

const KEPT = 8;
const JUMP_MS = 100;
const PLAUSIBLE_MS = 1500;
const FROZEN_LOOKS = 4;
const FROZEN_MS = 900;

/**
 * @param {AudioContext} context
 * @param {() => number} now milliseconds of performance.now
 */
export function createAudioClock(context, now) {
  /** @type {number[]} audio time minus page time, ms, newest last */
  let offsets = [];
  let lastAudioS = -1;
  let lastMoveMs = 0;
  let stillLooks = 0;

  function measuredOffset() {
    const pageMs = now();
    const late = context.outputLatency || context.baseLatency || 0;
    const rough = (context.currentTime - late) * 1000 - pageMs;
    const stamp = context.getOutputTimestamp?.();
    if (!stamp?.performanceTime || !stamp.contextTime) return rough;
    const fine = stamp.contextTime * 1000 - stamp.performanceTime;
    return Math.abs(fine - rough) < PLAUSIBLE_MS ? fine : rough;
  }

  function offset() {
    const sorted = [...offsets].sort((a, b) => a - b);
    return sorted[sorted.length >> 1];
  }

  return {
    /** Reads both clocks; a jump throws the older readings away. */
    look() {
      const measured = measuredOffset();
      if (offsets.length > 0 && Math.abs(measured - offset()) > JUMP_MS) offsets = [];
      offsets = [...offsets, measured].slice(-KEPT);
    },

    /**
     * Says when on the context's clock a page time is heard.
     * @param {number} pageMs
     */
    toContextS(pageMs) {
      return (pageMs + offset()) / 1000;
    },

    /**
     * Says why no sound comes, or null. `steady` where the call comes from a timer that cannot be hurried or held up.
     * @param {boolean} steady
     * @returns {Stall | null}
     */
    stall(steady) {
      const state = /** @type {string} */ (context.state);
      if (state !== "running") return state === "interrupted" || state === "closed" ? state : "suspended";
      const audioS = context.currentTime;
      if (audioS !== lastAudioS) {
        lastAudioS = audioS;
        lastMoveMs = now();
        stillLooks = 0;
      } else if (steady) {
        stillLooks += 1;
      }
      return stillLooks >= FROZEN_LOOKS && now() - lastMoveMs >= FROZEN_MS ? "frozen" : null;
    },
  };
}
