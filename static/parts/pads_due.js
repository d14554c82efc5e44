/** Whether a set of pads is worn out: sessions are counted since new pads were noted. Pure. */

const NEW_PADS = 1; // as a record of the kind *changed* counts them
const NOT_ASKED = 3; // who put them on
const BEGUN_S = 60; // a session that hardly began wears nothing out

/**
 * Counts the sessions since the last new pads, by day and exercise alike; 0 while pads are not due.
 * @param {{pads_sessions?: number}} plan
 * @param {{kind: string, record: any}[]} log oldest first
 */
export function padsDue(plan, log) {
  const lasts = plan.pads_sessions ?? 0;
  const since = log.map(({ kind, record }) => kind === "changed" && record.what === NEW_PADS).lastIndexOf(true);
  const used = log.slice(since + 1).filter(({ kind, record }) => kind === "session" && record.cued_s >= BEGUN_S).length;
  return lasts > 0 && used >= lasts ? used : 0;
}

/** What is noted when new pads are on. @param {{version: number}} plan */
export function newPads(plan) {
  return { what: NEW_PADS, version: plan.version, by: NOT_ASKED };
}
