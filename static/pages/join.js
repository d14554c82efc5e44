// The first opening: one tap, and the whole plan is on this phone.

import { canKeepPlans, join, joinedBefore } from "../parts/joining.js";
import { askToPersist } from "../parts/log_store.js";
import { bringPlan, element, show, takeTyped } from "./first_plan.js";

const token = location.hash.slice(1).toLowerCase();
// The token leaves the address bar at once: nobody reads it over a shoulder, no history keeps it.
history.replaceState(null, "", location.pathname);

/** @param {import("../parts/joining.js").Offer} offer */
async function begin(offer) {
  const before = await joinedBefore(offer);
  await askToPersist();
  await bringPlan(() => (before ? Promise.resolve(before) : join(offer)), before ? "today" : "keep");
}

if (canKeepPlans()) {
  show(/^[a-z2-7]{32}$/.test(token) ? "welcome" : "type");
  element("start").addEventListener("click", () => void begin({ token }));
  element("again").addEventListener("click", () => show(token ? "welcome" : "type"));
  takeTyped((typed) => void begin({ typed }));
} else {
  show("cannot");
}
