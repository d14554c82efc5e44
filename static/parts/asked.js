/** Whether a question is asked in this session: the plan says each time, in the first and last of a day, or never. Pure. */

/**
 * @param {string | undefined} often
 * @param {{exercise: number}} session
 * @param {import("./day.js").Day} day
 */
export function isAsked(often, session, day) {
  if (often !== "first_last") return often !== "never";
  const mine = day.slots.filter((slot) => slot.exercise === session.exercise);
  const left = mine.filter((slot) => slot.state === "to_go").length;
  return left === mine.length || left <= 1;
}
