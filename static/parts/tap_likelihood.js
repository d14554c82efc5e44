/**
 * What taps say about a unit's phase and clock, as a weighted list of explanations. Pure.
 *
 * An explanation says of each tap whether it was at a rise (and of which cycle), at the end of a hold, or a stray; given that, taps are linear
 * in the phase and the clock, so each explanation carries one Gaussian, kept by a Kalman update, and the list is the whole posterior, less what
 * is too unlikely to matter. The prior of the clock has a narrow part (a clock), and a wide one (a unit that is set differently).
 *
 * @typedef {object} Explanation
 * @property {number} log  natural logarithm of its weight; the best has 0
 * @property {number} a  wall time of the rise of cycle 0, ms
 * @property {number} d  clock: the unit's seconds are 1 + d of ours
 * @property {number} vaa @property {number} vad @property {number} vdd  covariance of a and d
 * @property {number} strays  taps that it explains by nothing
 *
 * @typedef {{weight: number, mean: number, sd: number}} ClockPart
 * @typedef {{cycleMs: number, holdEndMs: number, tapSdMs: number, clock: ClockPart[]}} TapModel
 */

// shares of taps: one in twenty at the wrong edge is what is to be borne; hardly any at no edge, or wrong taps in a row outweigh a right one
const AT_RISE = 0.94;
const AT_HOLD_END = 0.05;
const STRAY = 0.004;
const HOLD_END_SD = 2; // times the jitter at a rise: where in the easing it is felt to stop is less clear
const REACH_SD = 4;
const SAME_PHASE_MS = 400;
const MOST_CYCLES_OFF = 12;
const MOST_KEPT = 60;
const LEAST_LOG = -14;

/**
 * The explanations of the first tap.
 * @param {TapModel} model
 * @param {number} y  when the tap came, less its lag
 * @returns {Explanation[]}
 */
export function firstTap(model, y) {
  const { tapSdMs, holdEndMs: e, cycleMs } = model;
  const strayVar = cycleMs ** 2 / 12;
  return kept(model.clock.flatMap(({ weight, mean: d, sd }) => {
    const vdd = sd ** 2;
    const holdEndVar = (HOLD_END_SD * tapSdMs) ** 2 + e ** 2 * vdd;
    return [
      { log: Math.log(weight * AT_RISE), a: y, d, vaa: tapSdMs ** 2, vad: 0, vdd, strays: 0 },
      { log: Math.log(weight * AT_HOLD_END), a: y - e * (1 + d), d, vaa: holdEndVar, vad: -e * vdd, vdd, strays: 0 },
      { log: Math.log(weight * STRAY), a: y, d, vaa: strayVar, vad: 0, vdd, strays: 1 },
    ];
  }));
}

/**
 * The explanations with one more tap.
 * @param {TapModel} model
 * @param {Explanation[]} explanations
 * @param {number} y
 */
export function nextTap(model, explanations, y) {
  const stray = Math.log(STRAY / model.cycleMs);
  return kept(explanations.flatMap((each) => [
    ...atEdge(model, each, y, 0, model.tapSdMs, AT_RISE),
    ...atEdge(model, each, y, model.holdEndMs, HOLD_END_SD * model.tapSdMs, AT_HOLD_END),
    { ...each, log: each.log + stray, strays: each.strays + 1 },
  ]));
}

/**
 * Standard deviation of the rise that comes after `t` of the unit's own time since the rise of cycle 0.
 * @param {Explanation} of
 * @param {number} t
 */
export function sdAt({ vaa, vad, vdd }, t) {
  return Math.sqrt(Math.max(0, vaa + 2 * t * vad + t * t * vdd));
}

/**
 * The best explanation, joined with those that say the same; `sure` is the weight of all that agree on the phase at the wall time,
 * `settled` of those that agree on the clock besides.
 * @param {number} cycleMs
 * @param {Explanation[]} explanations
 * @param {number} wallMs
 * @returns {Explanation & {sure: number, settled: number}}
 */
export function agreed(cycleMs, explanations, wallMs) {
  const best = /** @type {Explanation} */ (explanations[0]);
  const rise = riseNear(cycleMs, best, wallMs);
  const t = (rise - best.a) / (1 + best.d);
  const reach = Math.max(SAME_PHASE_MS, 3 * sdAt(best, t));
  const total = explanations.reduce((sum, { log }) => sum + Math.exp(log), 0);
  let [sure, settled, phase, clock] = [0, 0, 0, 0];
  for (const each of explanations) {
    const off = riseNear(cycleMs, each, rise) - rise;
    if (Math.abs(off) > reach) continue;
    const share = Math.exp(each.log) / total;
    sure += share;
    if (Math.abs(each.d - best.d) > 5 * Math.sqrt(best.vdd)) continue;
    settled += share;
    phase += share * off;
    clock += share * (each.d - best.d);
  }
  const d = best.d + clock / settled;
  return { ...best, d, a: best.a + phase / settled - (clock / settled) * t, sure, settled };
}

/**
 * How much of the weight holds something true.
 * @param {Explanation[]} explanations
 * @param {(each: Explanation) => boolean} holds
 */
export function shareOf(explanations, holds) {
  let [held, total] = [0, 0];
  for (const each of explanations) {
    const weight = Math.exp(each.log);
    total += weight;
    if (holds(each)) held += weight;
  }
  return held / total;
}

/**
 * When an explanation has the rise that is nearest to a wall time.
 * @param {number} cycleMs
 * @param {Explanation} of
 * @param {number} wallMs
 */
function riseNear(cycleMs, { a, d }, wallMs) {
  const cycle = cycleMs * (1 + d);
  return a + cycle * Math.round((wallMs - a) / cycle);
}

/**
 * @param {TapModel} model
 * @param {Explanation} each
 * @param {number} y
 * @param {number} edgeMs  of the edge in the cycle
 * @param {number} sdMs
 * @param {number} share
 */
function atEdge({ cycleMs }, each, y, edgeMs, sdMs, share) {
  const middle = Math.round(((y - each.a) / (1 + each.d) - edgeMs) / cycleMs);
  const off = Math.min(MOST_CYCLES_OFF, Math.ceil((REACH_SD * sdAt(each, middle * cycleMs)) / cycleMs));
  const found = [];
  for (let n = middle - off; n <= middle + off; n++) found.push(updated(each, y, n * cycleMs + edgeMs, sdMs, share));
  return found;
}

/**
 * @param {Explanation} prior
 * @param {number} y
 * @param {number} t  where the tap is said to be, in the unit's own time since the rise of cycle 0
 * @param {number} sdMs
 * @param {number} share
 * @returns {Explanation}
 */
function updated({ log, a, d, vaa, vad, vdd, strays }, y, t, sdMs, share) {
  const ga = vaa + t * vad;
  const gd = vad + t * vdd;
  const s = ga + t * gd + sdMs ** 2;
  const v = y - a - (1 + d) * t;
  const density = -0.5 * ((v * v) / s + Math.log(2 * Math.PI * s));
  return {
    log: log + Math.log(share) + density, a: a + (ga / s) * v, d: d + (gd / s) * v,
    vaa: vaa - (ga * ga) / s, vad: vad - (ga * gd) / s, vdd: vdd - (gd * gd) / s, strays,
  };
}

/** @param {Explanation[]} explanations */
function kept(explanations) {
  explanations.sort((one, other) => other.log - one.log);
  const best = explanations[0]?.log ?? 0;
  return explanations.slice(0, MOST_KEPT).filter(({ log }) => log - best > LEAST_LOG).map((each) => ({ ...each, log: each.log - best }));
}
