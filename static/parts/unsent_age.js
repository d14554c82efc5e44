/** How long the oldest record has not been sent, and how loudly that is said. Pure. */

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

/**
 * @typedef {"none" | "new" | "day" | "code" | "alarm"} Loudness
 *   none: nothing is unsent · new: less than a day · day: said aloud · code: the code is offered · alarm: a browser that
 *   was not opened for 7 days may clear its store
 */

/** From when on each is said, the loudest first. @type {readonly (readonly [Loudness, number])[]} */
const FROM_MS = [["alarm", 5 * DAY_MS], ["code", 3 * DAY_MS], ["day", DAY_MS], ["new", 0]];

/**
 * Tells how loudly the age of the oldest unsent record is said, and its whole days.
 * @param {{unsent: number, oldest_unsent_ms: number}} state
 * @param {number} nowMs
 * @returns {{loudness: Loudness, days: number}}
 */
export function unsentAge({ unsent, oldest_unsent_ms }, nowMs) {
  if (unsent === 0 || oldest_unsent_ms === 0) return { loudness: "none", days: 0 };
  const age_ms = Math.max(0, nowMs - oldest_unsent_ms);
  const [loudness] = FROM_MS.find(([, from]) => age_ms >= from) ?? ["new"];
  return { loudness, days: Math.floor(age_ms / DAY_MS) };
}
