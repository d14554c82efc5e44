/** What the unit showed before: the number last noted, else the one found in the clinic. Offered, never taken as read. Pure. */

/** @typedef {{number: number, from: "last" | "clinic"}} Known */

/**
 * @param {import("./day.js").PlanExercise} exercise
 * @param {import("./day.js").Kept[]} log
 * @returns {(Known | null)[]}  one a channel; null where none is known, or where it is above the ceiling of today
 */
export function knownStrengths(exercise, log) {
  const last = log.filter((kept) => kept.kind === "session" && kept.record.exercise === exercise.exercise).at(-1)?.record;
  return exercise.ceilings.map((ceiling, n) => {
    const known = noted(last, n) ?? inClinic(exercise, n);
    return known && known.number > 0 && known.number <= ceiling ? known : null;
  });
}

/** @param {import("./day.js").PlanExercise} exercise @param {number} channel @returns {Known | null} */
function inClinic(exercise, channel) {
  const number = exercise.strength_start[channel] ?? null;
  return number === null ? null : { number, from: "clinic" };
}

/**
 * @param {any} session
 * @param {number} channel
 * @returns {Known | null}
 */
function noted(session, channel) {
  const level = session?.strength_level?.[channel] ?? -1;
  const half = session?.strength_half_ma?.[channel] ?? -1;
  if (level < 0 && half < 0) return null;
  return { number: level >= 0 ? level : half / 2, from: "last" };
}
