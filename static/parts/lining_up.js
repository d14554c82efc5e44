/**
 * Lines the cues up with a unit that the phone cannot talk to: taps at a rise give the phase and the unit's own clock. Pure.
 *
 * A tap comes late by its lag (ramp to the first feeling, and a reaction). Where the lag is not well known the cues are placed earlier by one
 * and a half of its standard deviations, 0.5 s at most: better half a second early than late.
 *
 * @typedef {object} Estimate
 * @property {number} zeroMs  wall time of session time 0: session time t is due at zeroMs + ratio × t
 * @property {number} ratio  what the cues follow
 * @property {number} ppm  what the unit's clock was found to be (more: slower than the phone's), whether followed or not
 * @property {number} sdPpm
 * @property {number} sdPhaseMs  standard deviation of the cue now, the lag's own not counted
 * @property {number} sdEndMs  the same of the cue at the session's end
 * @property {number} sure  0 to 1: how sure it is of the phase, that is which edge was tapped
 * @property {number} settled  0 to 1: of the phase and the clock, that is of which cycle it was besides
 * @property {boolean} known  the clock is known well enough for the rest of the session and for the next one
 * @property {boolean} phaseOnly  the cycle is too short to find the clock: only the newest tap counts
 * @property {boolean} setDifferently  not a clock's error: the unit's settings are not the plan's. Not followed
 * @property {number} taps  that counted
 * @property {number | null} nextAskMs  wall time from which to ask for a tap; null: no more
 */
import { askMs, createAsking } from "./tap_asking.js";
import { agreed, firstTap, nextTap, sdAt, shareOf } from "./tap_likelihood.js";

/** @typedef {{ppm: number, sdPpm: number}} Remembered */

export const PHASE_ONLY_BELOW_MS = 8000;
export const CLOCK_PPM = 20_000; // a unit's clock is within this of the phone's
const DIFFERENT = 0.03; // beyond this it is no clock's error
const DIFFERENT_SURE = 0.95;
const TAP_SD_MS = 200; // a little over the 150 ms of a practised tap, so that a shaky one is not taken for a stray
const KNOWN_MS = 300;
const SURE = 0.98;
const BOUNCE_MS = 1000;
const EARLY_SDS = 1.5;
const MOST_EARLY_MS = 500;
const FELT_SHARE = 0.5; // of the ramp, where nothing is known of the first feeling; common practice, no source
const UNEVEN = 1 / Math.sqrt(3);
const LEAST_SD_PPM = 100; // a clock found once is not trusted beyond this on another day

/**
 * The zero of the session, from the first tap.
 * @param {object} of
 * @param {number} of.tapMs  performance time of the tap
 * @param {number} of.reactionMs  how much later than the rise a tap comes
 * @param {number} of.firstRiseMs
 * @param {number} of.cycleMs
 * @param {number} of.cuedMs  what earlier runs of this session have cued: whole cycles of it are not done again
 */
export function zeroFromTap({ tapMs, reactionMs, firstRiseMs, cycleMs, cuedMs }) {
  const cycles = cycleMs > 0 ? Math.floor(cuedMs / cycleMs) : 0;
  return tapMs - reactionMs - firstRiseMs - cycles * cycleMs;
}

/**
 * How much later (+) or earlier (-) the unit rises than the cues say, from a further tap.
 * @param {object} of
 * @param {number} of.positionMs  session time at the tap
 * @param {number} of.reactionMs
 * @param {number} of.firstRiseMs
 * @param {number} of.cycleMs
 */
export function phaseShift({ positionMs, reactionMs, firstRiseMs, cycleMs }) {
  const since = (((positionMs - reactionMs - firstRiseMs) % cycleMs) + cycleMs) % cycleMs;
  return since > cycleMs / 2 ? since - cycleMs : since;
}

/**
 * How late a tap is to be expected. On the unit's own sign (a light, a click) only the reaction counts.
 * @param {{rampMs: number, noticedMs?: number, reactionMs?: number, ownSign?: boolean}} of
 *   noticedMs: how long after the start of a rise the client notices it, by the first trial; 0 where that is not known
 * @returns {{lagMs: number, lagSdMs: number}}
 */
export function expectedLag({ rampMs, noticedMs = 0, reactionMs = 300, ownSign = false }) {
  if (ownSign) return { lagMs: reactionMs, lagSdMs: 0 };
  const climbMs = noticedMs > 0 ? Math.min(noticedMs, rampMs) : rampMs * FELT_SHARE;
  return { lagMs: climbMs + reactionMs, lagSdMs: 0.4 * UNEVEN * climbMs };
}

/**
 * @param {object} of
 * @param {number} of.cycleMs
 * @param {number} of.firstRiseMs
 * @param {number} of.sessionMs
 * @param {import("./tap_asking.js").Edges} of.edges  of channel 1, from its rise
 * @param {number} of.lagMs  how late a tap is
 * @param {number} [of.lagSdMs]  how far off that may be (standard deviation)
 * @param {number} [of.reactionMs]  the part of the lag that a tap at the end of a hold has too
 * @param {Remembered | null} [of.remembered]  the clock of this unit, found earlier
 * @param {number} [of.cuedMs]  what earlier runs of this session have cued
 */
export function createLiningUp(of) {
  const { cycleMs, firstRiseMs, sessionMs, edges, lagMs, lagSdMs = 0, reactionMs = 300, remembered = null, cuedMs = 0 } = of;
  const model = { cycleMs, holdEndMs: edges.holdEndMs - (lagMs - reactionMs), tapSdMs: TAP_SD_MS, clock: clockPrior(remembered) };
  const phaseOnly = cycleMs < PHASE_ONLY_BELOW_MS;
  const beforeMs = firstRiseMs + Math.floor(cuedMs / cycleMs) * cycleMs;
  const earlyMs = Math.min(MOST_EARLY_MS, EARLY_SDS * lagSdMs);
  const usual = (remembered?.ppm ?? 0) / 1e6;
  const asking = createAsking({ cycleMs, edges });
  /** @type {import("./tap_likelihood.js").Explanation[]} */
  let explanations = [];
  let taps = 0;
  let tapMs = -Infinity;
  /** @type {number | null} */
  let dueMs = null;

  /** @param {number} y */
  function take(y) {
    if (phaseOnly) explanations = newestOnly(y);
    else explanations = taps === 0 ? firstTap(model, y) : nextTap(model, explanations, y);
  }

  /** Keeps the count of cycles, forgets all else. @param {number} y */
  function newestOnly(y) {
    const [old] = explanations;
    const n = old ? Math.round((y - old.a) / (cycleMs * (1 + usual))) : 0;
    const vdd = ((remembered?.sdPpm ?? CLOCK_PPM * UNEVEN) / 1e6) ** 2;
    const t = n * cycleMs; // the phase is known at the tap, not at cycle 0
    return [{ log: 0, a: y - t * (1 + usual), d: usual, vaa: TAP_SD_MS ** 2 + t * t * vdd, vad: -t * vdd, vdd, strays: 0 }];
  }

  /**
   * @param {number} wallMs
   * @returns {Estimate}
   */
  function estimate(wallMs) {
    if (taps === 0) throw new Error("nothing was tapped yet");
    const found = agreed(cycleMs, explanations, tapMs);
    const setDifferently = taps > 2 && !phaseOnly && shareOf(explanations, (each) => isDifferent(each, taps)) > DIFFERENT_SURE;
    const d = setDifferently || Math.abs(found.d) > DIFFERENT ? usual : found.d;
    const turn = cycleMs * Math.round((tapMs - found.a) / (1 + found.d) / cycleMs);
    const a = found.a + turn * (found.d - d);
    const sdPpm = Math.sqrt(found.vdd) * 1e6;
    const agree = taps === 1 || (found.sure > SURE && found.settled > SURE); // one tap cannot be held against another
    const known = !phaseOnly && !setDifferently && agree && (sdPpm * sessionMs) / 1e6 < KNOWN_MS;
    return {
      zeroMs: a - earlyMs - beforeMs * (1 + d), ratio: 1 + d, ppm: Math.round(found.d * 1e6), sdPpm, known, phaseOnly, setDifferently, taps,
      sdPhaseMs: sdAt(found, (wallMs - found.a) / (1 + found.d)), sdEndMs: sdAt(found, sessionMs - beforeMs), sure: found.sure, settled: found.settled,
      nextAskMs: setDifferently || known ? null : dueMs,
    };
  }

  return {
    /**
     * A tap by the client; one that follows another at once is taken for the same.
     * @param {number} wallMs
     */
    tap(wallMs) {
      if (wallMs - tapMs > BOUNCE_MS) {
        take(wallMs - lagMs);
        taps += 1;
        tapMs = wallMs;
        const { zeroMs, ratio, sure, settled } = estimate(wallMs);
        const dueAt = wallMs + askMs({ taps, agree: sure > SURE && (taps < 3 || settled > SURE), phaseOnly });
        const wanted = asking.next(dueAt, zeroMs + beforeMs * ratio, ratio);
        dueMs = wanted < zeroMs + ratio * (sessionMs - cycleMs) ? wanted : null;
      }
      return estimate(wallMs);
    },
    estimate,
    /**
     * Whether to ask for a tap now: one is due, and the unit rests or begins to rise.
     * @param {number} wallMs
     */
    wantsTap(wallMs) {
      if (taps === 0) return true;
      const { nextAskMs, zeroMs, ratio } = estimate(wallMs);
      return nextAskMs !== null && wallMs >= nextAskMs && asking.mayAsk((wallMs - zeroMs) / ratio - beforeMs);
    },
    /** What to keep for this unit's next session; null while the clock is not known. @returns {Remembered | null} */
    toRemember() {
      if (taps === 0) return remembered;
      const { known, ppm, sdPpm } = estimate(tapMs);
      return known ? { ppm, sdPpm: Math.max(LEAST_SD_PPM, sdPpm) } : null;
    },
  };
}

/**
 * @param {Remembered | null} remembered
 * @returns {import("./tap_likelihood.js").ClockPart[]}
 */
function clockPrior(remembered) {
  const clock = { weight: 0.98, mean: 0, sd: (CLOCK_PPM / 1e6) * UNEVEN };
  const different = { weight: 0.02, mean: 0, sd: 0.1 };
  if (!remembered) return [clock, different];
  const found = { weight: 0.94, mean: remembered.ppm / 1e6, sd: Math.max(LEAST_SD_PPM, remembered.sdPpm) / 1e6 };
  return [found, { ...clock, weight: 0.04 }, different];
}

/**
 * @param {import("./tap_likelihood.js").Explanation} each
 * @param {number} taps
 */
function isDifferent({ d, strays }, taps) {
  return Math.abs(d) > DIFFERENT || (strays > 1 && 2 * strays > taps);
}
