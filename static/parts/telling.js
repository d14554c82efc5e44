/** A session that the therapist is to hear of before the next one: looked up in the tables that the plan brings. Pure. */

const TELL = "tell";

/**
 * @typedef {object} Telling
 * @property {number} seq
 * @property {number} at_min
 * @property {boolean} unwell  said so as the session ended; else it hurt
 */

const UNWELL = 4;
const ABOUT_PAIN = 2; // a finding without a session: *not today, it hurts*

/**
 * @param {{ended: Record<string, string>, pain_after: Record<string, string>}} plan
 * @param {any} session
 */
export function tellsFirst(plan, session) {
  return plan.ended[String(session.ended)] === TELL || plan.pain_after[String(session.pain_after_n)] === TELL;
}

/**
 * The last session, or pain told without one, where the therapist is to hear of it and has not let practice go on through it.
 * @param {{ended: Record<string, string>, pain_after: Record<string, string>}} plan
 * @param {import("./day.js").Kept[]} log
 * @param {number} ended  the record through which the therapist has ended rests
 * @returns {Telling | null}
 */
export function toTell(plan, log, ended) {
  const last = log.filter(({ kind, record }) => kind === "session" || (kind === "finding" && record.what === ABOUT_PAIN)).at(-1);
  if (!last || last.seq <= ended || (last.kind === "session" && !tellsFirst(plan, last.record))) return null;
  return { seq: last.seq, at_min: last.record.at_min, unwell: last.record.ended === UNWELL };
}
