/** Whether today's session is longer or shorter than the last one: then the unit's own minutes are to be changed first. Pure. */

/**
 * @param {number} exercise
 * @param {number} plannedS
 * @param {import("./day.js").Kept[]} log
 * @returns {number | null}  the seconds planned last time, where they were others
 */
export function otherMinutesBefore(exercise, plannedS, log) {
  const last = log.filter((kept) => kept.kind === "session" && kept.record.exercise === exercise).at(-1)?.record;
  const before = Number(last?.planned_s ?? plannedS);
  return before > 0 && before !== plannedS ? before : null;
}
