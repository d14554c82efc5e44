/** Which look at the skin is due: an hour after a session, or the next morning. What was not asked in time stays unknown. Pure. */
import { dayOf } from "./local_time.js";

export const HOUR_LATER = 1;
export const NEXT_MORNING = 2;
const FROM_MIN = 60;
const UNTIL_MIN = 360;

/**
 * Finds the look that is due now; the newest session first.
 * @param {{asks: Record<string, string>}} plan
 * @param {import("./day.js").Kept[]} log
 * @param {number} nowMin
 * @returns {{session_seq: number, exercise: number, when: number} | null}
 */
export function lookDue(plan, log, nowMin) {
  if (plan.asks["skin_later"] === "never") return null;
  const sessions = log.filter((kept) => kept.kind === "session").reverse();
  const seen = new Set();
  for (const { seq, record } of sessions) {
    if (seen.has(record.exercise)) continue; // the skin was looked at again before the session that came after
    seen.add(record.exercise);
    const when = whenDue(record, nowMin);
    if (when && !answered(log, seq, when)) return { session_seq: seq, exercise: record.exercise, when };
  }
  return null;
}

/**
 * @param {any} session
 * @param {number} nowMin
 */
function whenDue(session, nowMin) {
  const endMin = session.at_min + Math.ceil(session.cued_s / 60);
  const nextDay = dayOf(endMin + 1440);
  if (dayOf(nowMin) === nextDay) return NEXT_MORNING;
  const since = nowMin - endMin;
  return since >= FROM_MIN && since <= UNTIL_MIN ? HOUR_LATER : 0;
}

/**
 * @param {import("./day.js").Kept[]} log
 * @param {number} seq
 * @param {number} when
 */
function answered(log, seq, when) {
  return log.some((kept) => kept.kind === "skin_later" && kept.record.session_seq === seq && kept.record.when === when);
}
