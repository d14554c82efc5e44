/** The plan has changed: what is new, the unit's own steps to tick, and only then the new plan is the one in use. */
import { begin } from "../parts/begin.js";
import { every, one, onPress } from "../parts/elements.js";
import { getMeta, writeRecord } from "../parts/log_store.js";
import { inPending, root } from "../parts/place.js";
import { NOT_ANSWERED } from "../parts/session.js";
import { makeCurrent, pendingPack } from "../parts/updates.js";

const UNIT_SETTINGS = 3;

const here = await begin(document, null, "none");
const before = /** @type {{version: number} | null} */ (await getMeta(here.db, "current_pack"))?.version ?? 0;
for (const news of every(document, "[data-version]")) if (Number(news.dataset["version"]) <= before) news.remove();
if (!document.querySelector("[data-unit-step]")) one(document, "[data-who]").hidden = true;
one(document, "[data-nothing]").hidden = document.querySelector("[data-version]") !== null;
const ticks = /** @type {HTMLInputElement[]} */ (every(document, "[data-unit-step]"));
const take = /** @type {HTMLButtonElement} */ (one(document, "[data-take]"));
one(document, "[data-not-now]").setAttribute("href", `${root()}today`);
take.hidden = !inPending();
const showTake = () => { take.disabled = ticks.some((tick) => !tick.checked); };
for (const tick of ticks) tick.addEventListener("change", showTake);
showTake();

onPress(document, "[data-take]", async () => {
  const pack = await pendingPack(here.db);
  const result = pack ? await makeCurrent(here.db, pack) : "missing";
  if (result !== "current") return refuse(result);
  if (ticks.length > 0) await writeRecord(here.db, "changed", { what: UNIT_SETTINGS, version: here.plan.version, by: by() });
  return location.assign(`${root()}today`);
});

function by() {
  const chosen = /** @type {HTMLInputElement | null} */ (document.querySelector("[name=by]:checked"));
  return chosen ? Number(chosen.value) : NOT_ANSWERED.by;
}

/** @param {"draft" | "missing"} why */
function refuse(why) {
  const banner = one(document, "[data-refused]");
  banner.textContent = here.say(`phone.change.${why}`);
  banner.hidden = false;
}
