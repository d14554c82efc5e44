/** Writes when a record was made by the habits of the day; the same as in webapp/formats/record_coding.py. */

/** @typedef {import("./decisions.js").Decisions} Decisions */
/** @typedef {import("./record_habits.js").RecordHabits} RecordHabits */

const DAY = 1440;
const NOON = 720;
const HALF_HOUR = 30;
const MORNING = 19;
const AFTERNOON = 32;

/**
 * Writes the day by its distance, then morning or not, the half hour by the usual one, the minute in it.
 * @param {Decisions} bits
 * @param {RecordHabits} habits
 * @param {string} kind
 * @param {number} atMin
 */
export function codeTimeOfDay(bits, habits, kind, atMin) {
  const before = habits.head["at_min"] ?? 0;
  const wasLate = Number(modulo(before, DAY) >= NOON);
  const days = Math.floor(atMin / DAY) - Math.floor(before / DAY);
  bits.number(`${kind} days ${wasLate}`, days);
  const late = Number(modulo(atMin, DAY) >= NOON);
  bits.bit(`late ${Math.min(Math.abs(days), 2)}${wasLate}`, late);
  const halfHour = Math.floor(modulo(atMin, DAY) / HALF_HOUR);
  const away = halfHour - habits.mean(`half ${late}`, late ? AFTERNOON : MORNING);
  bits.number(`half ${late}`, away);
  bits.symbol(`minute ${Math.max(-2, Math.min(2, away))}`, 5, modulo(atMin, HALF_HOUR));
  habits.see(`half ${late}`, halfHour);
}

/**
 * @param {number} value
 * @param {number} of
 */
const modulo = (value, of) => value - Math.floor(value / of) * of;
