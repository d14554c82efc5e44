/** The clinic asks for a rest, or another phone found something on the skin, while the unit may be on: it goes off first. */
import { carryEvents } from "./carry_home.js";
import { one, onPress } from "./elements.js";
import { otherRests } from "./other_rests.js";
import { ENDED } from "./session.js";
import { openSheet } from "./sheets.js";
import { restingExercises } from "./skin_history.js";

/**
 * Says so as soon as this page hears of it, and at once where it is known already; only *the unit is off* leads on.
 * @param {import("./begin.js").Here} here
 * @param {{latest: () => import("./session.js").Draft, isOff: () => boolean, onAsked: () => void}} of
 */
export async function askedToStop(here, { latest, isOff, onAsked }) {
  const sheet = /** @type {HTMLDialogElement} */ (one(here.page, "[data-sheet=asked]"));
  async function look() {
    const rests = await otherRests(here.db); // the latest first
    const rest = rests.find((one) => restingExercises(here.plan, [], 0, [one]).includes(latest().exercise));
    if (!rest || sheet.open || isOff()) return;
    onAsked();
    one(sheet, "[data-asked-why]").textContent = here.say(rest.why ? "phone.rest.asked" : "phone.rest.asked_other");
    openSheet(here.page, "asked");
    await here.save(latest());
  }
  sheet.addEventListener("cancel", (event) => event.preventDefault());
  onPress(sheet, "[data-asked-off]", () => {
    const draft = latest();
    return here.go(`end-${draft.exercise}?off=1`, { ...draft, stage: "end", ended: ENDED.interrupted });
  });
  carryEvents.addEventListener("other_rests", () => void look());
  await look();
}
