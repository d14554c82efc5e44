/** How long each step of set-up takes, by the phone's own clock; kept in the draft, so that a reload loses none of it. Pure. */

// one look at a step: longer is a clock that was set, or a phone that was put away
const MOST_MS = 3_600_000;
const MOST_S = 100_000;
// most set-ups are quick, and a log that says so of each is half as long again as a code
const NOTED_FROM_MS = 60_000;

/**
 * Notes that a step is shown now: the one before it is over. Step 0 is none.
 * @param {import("./session.js").Draft} draft
 * @param {number} step
 * @param {number} nowMs
 * @returns {import("./session.js").Draft}
 */
export function onStep(draft, step, nowMs) {
  const { step_now: before = { step: 0, at_ms: nowMs }, steps_ms = {}, ...rest } = draft;
  const took = Math.min(Math.max(nowMs - before.at_ms, 0), MOST_MS);
  const times = before.step ? { ...steps_ms, [before.step]: (steps_ms[before.step] ?? 0) + took } : steps_ms;
  return { ...rest, steps_ms: times, step_now: { step, at_ms: nowMs } };
}

/**
 * What the record says of it: the step that took longest, its seconds and those of all; nothing where none took a minute.
 * @param {import("./session.js").Draft} draft
 * @returns {{longest_step: number, longest_step_s: number, set_up_s: number} | {}}
 */
export function timeFields({ steps_ms = {} }) {
  const times = Object.entries(steps_ms).map(([step, ms]) => ({ step: Number(step), ms }));
  const [longest] = times.sort((a, b) => b.ms - a.ms || a.step - b.step);
  if (!longest || longest.ms < NOTED_FROM_MS) return {};
  const all_ms = times.reduce((sum, { ms }) => sum + ms, 0);
  return { longest_step: longest.step, longest_step_s: seconds(longest.ms), set_up_s: seconds(all_ms) };
}

/** @param {number} ms */
const seconds = (ms) => Math.min(Math.round(ms / 1000), MOST_S);
