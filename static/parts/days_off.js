// Agreed days off: told by the newest plan that this phone holds, also where the client has not set the unit to it yet.

import { getMeta } from "./log_store.js";
import { inPending, previewHandle, root } from "./place.js";

/**
 * Gives a plan with the days off of the plan that waits, where one does: days off change nothing on the unit.
 * @param {import("./log_store.js").LogStore} db @param {import("./day.js").Plan} plan @returns {Promise<import("./day.js").Plan>}
 */
export async function withNewestDaysOff(db, plan) {
  if (previewHandle() || inPending() || !(await getMeta(db, "pending_pack"))) return plan;
  const newer = await fetch(`${root()}next/data/plan.json`).then((response) => (response.ok ? response.json() : plan)).catch(() => plan);
  return { ...plan, days_off: newer.days_off ?? plan.days_off };
}
