/**
 * Moves the session from the line that its cues follow to a new one, without repeating or swallowing a cue. Pure.
 *
 * Between cues of a rest it jumps, as far as that rest allows, and waits there if the unit is behind; elsewhere it only goes a little faster
 * or slower. A whole cycle more or less is the same to the ear, so it takes the shorter way.
 *
 * @typedef {{zeroMs: number, ratio: number}} Line  session time t is due at wall time zeroMs + ratio × t
 */

const MOST_SLEW = 0.03;
const MARGIN_MS = 1000; // a jump keeps away from the cues on both sides: sound is on its way there
const CLOSE_MS = 20;

/**
 * The line to follow now. To be asked at least once a second while `done` is false.
 * @param {object} of
 * @param {Line} of.now  the line that is followed
 * @param {Line} of.goal  the line that the taps give
 * @param {number} of.wallMs
 * @param {number} of.cycleMs
 * @param {{fromMs: number, toMs: number} | null} of.rest  session times of the last cue and the next one, if it rests between them; else null
 * @returns {Line & {done: boolean, changed: boolean}}
 */
export function towards({ now, goal, wallMs, cycleMs, rest }) {
  const position = (wallMs - now.zeroMs) / now.ratio;
  const wanted = nearest((wallMs - goal.zeroMs) / goal.ratio, position, cycleMs);
  const place = rest ? jumped(position, wanted, rest) : position;
  const left = wanted - place;
  const done = Math.abs(left) <= CLOSE_MS;
  const ratio = goal.ratio * (done ? 1 : 1 - Math.sign(left) * MOST_SLEW);
  const changed = place !== position || Math.abs(ratio - now.ratio) > 1e-9;
  return { zeroMs: changed ? wallMs - place * ratio : now.zeroMs, ratio: changed ? ratio : now.ratio, done, changed };
}

/**
 * @param {number} wanted
 * @param {number} position
 * @param {number} cycleMs
 */
function nearest(wanted, position, cycleMs) {
  return wanted + cycleMs * Math.round((position - wanted) / cycleMs);
}

/**
 * @param {number} position
 * @param {number} wanted
 * @param {{fromMs: number, toMs: number}} rest
 */
function jumped(position, wanted, { fromMs, toMs }) {
  const [low, high] = [fromMs + MARGIN_MS, toMs - MARGIN_MS];
  if (position < low || position > high || Math.abs(wanted - position) <= CLOSE_MS) return position;
  return Math.max(low, Math.min(high, wanted));
}
