// A phone whose plan is gone: from what is still there, from a re-join token, from the sheet.

import { canKeepPlans, join } from "../parts/joining.js";
import { openStore, StoreTrouble } from "../parts/log_store.js";
import { handle } from "../parts/place.js";
import { bringPlan, element, show, takeTyped } from "./first_plan.js";

const token = /^#rejoin=([a-z2-7]{32})$/.exec(location.hash)?.[1] ?? "";
history.replaceState(null, "", location.pathname);

async function storeHere() {
  if (!handle()) return null;
  return openStore().catch((error) => {
    if (error instanceof StoreTrouble && error.reason === "empty") return null;
    throw error;
  });
}

/** @param {import("../parts/joining.js").Offer} offer */
const begin = (offer) => void bringPlan(() => join(offer, handle()), "keep");

async function start() {
  const here = await storeHere();
  const first = here ? "still-here" : token ? "rejoin" : "type";
  element("fetch").addEventListener("click", () => here && void bringPlan(() => Promise.resolve(here), "today"));
  element("start").addEventListener("click", () => begin({ rejoin: token }));
  element("again").addEventListener("click", () => show(first));
  takeTyped((typed) => begin({ typed }));
  show(first);
}

if (canKeepPlans()) await start();
else show("cannot");
