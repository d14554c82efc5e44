/** When to ask for a tap: in a rest, shortly before a rise, never beginning in a hold. Pure. */

/**
 * @typedef {object} Edges  of a channel's hill, in ms after its rise begins
 * @property {number} holdMs  full strength
 * @property {number} holdEndMs  it begins to ease
 * @property {number} restMs  it is at nothing
 */

const SECOND_AFTER_MS = 50_000; // the next rise but one, or so, after it
const THIRD_AFTER_MS = 180_000; // sooner than the later ones: the clock is not yet found, and drifts far in four minutes
const FURTHER_AFTER_MS = 240_000;
const PHASE_ONLY_AFTER_MS = 180_000;
const LEAD_MS = 10_000;
const LEAST_LEAD_MS = 1500;
const STAYS_MS = 1500; // a steep rise is tapped when the hold has begun

/**
 * The edges of a hill of the cue sheet.
 * @param {readonly (readonly number[])[]} hill  [ms in the cycle, per mille of full strength]
 * @returns {Edges}
 */
export function edgesOf(hill) {
  const top = Math.max(...hill.map(([, height]) => height ?? 0));
  const first = hill.findIndex(([, height]) => height === top);
  const last = hill.findLastIndex(([, height]) => height === top);
  const ground = hill.slice(last).find(([, height]) => height === 0) ?? hill[hill.length - 1];
  return { holdMs: hill[first]?.[0] ?? 0, holdEndMs: hill[last]?.[0] ?? 0, restMs: ground?.[0] ?? 0 };
}

/**
 * How long after a tap the next is due: about a minute after the first, and where taps disagree; then every three minutes, then four.
 * @param {{taps: number, agree: boolean, phaseOnly: boolean}} of
 */
export function askMs({ taps, agree, phaseOnly }) {
  if (phaseOnly) return PHASE_ONLY_AFTER_MS;
  if (taps < 2 || !agree) return SECOND_AFTER_MS;
  return taps === 2 ? THIRD_AFTER_MS : FURTHER_AFTER_MS;
}

/** @param {{cycleMs: number, edges: Edges}} of */
export function createAsking({ cycleMs, edges }) {
  const restMs = cycleMs - edges.restMs;
  const leadMs = Math.max(0, Math.min(LEAD_MS, restMs));
  return {
    /**
     * The first moment from `dueMs` on that lies a little before a rise.
     * @param {number} dueMs
     * @param {number} riseMs  wall time of any rise
     * @param {number} ratio
     */
    next(dueMs, riseMs, ratio) {
      const enoughMs = Math.min(LEAST_LEAD_MS, leadMs);
      const n = Math.ceil((dueMs + enoughMs * ratio - riseMs) / (cycleMs * ratio));
      return Math.max(dueMs, riseMs + (n * cycleMs - leadMs) * ratio);
    },
    /**
     * Whether a question may stand on the screen: from the lead before a rise up to the hold, or time enough to react.
     * @param {number} sinceRiseMs  session time since any rise
     */
    mayAsk(sinceRiseMs) {
      const place = ((sinceRiseMs % cycleMs) + cycleMs) % cycleMs;
      return place >= cycleMs - leadMs || place < Math.max(edges.holdMs, STAYS_MS);
    },
  };
}
