/** The clinic asks for a rest, or another phone found something on the skin, while the unit may be on: it goes off first. */
import { carryEvents } from "./carry_home.js";
import { one, onPress } from "./elements.js";
import { otherRests } from "./other_rests.js";
import { ENDED } from "./session.js";
import { openSheet } from "./sheets.js";

const EVERY = 0; // a rest of all exercises

/**
 * @param {import("./other_rests.js").OtherRest[]} rests
 * @param {number} exercise
 * @returns {import("./other_rests.js").OtherRest | null} the latest that is about this exercise
 */
export function restOf(rests, exercise) {
  return rests.find(({ exercises }) => exercises.includes(EVERY) || exercises.includes(exercise)) ?? null;
}

/**
 * Says so as soon as this page hears of it, and at once where it is known already; only *the unit is off* leads on.
 * @param {import("./begin.js").Here} here
 * @param {{latest: () => import("./session.js").Draft, isOff: () => boolean, onAsked: () => void}} of
 */
export async function askedToStop(here, { latest, isOff, onAsked }) {
  const sheet = /** @type {HTMLDialogElement} */ (one(here.page, "[data-sheet=asked]"));
  async function look() {
    const rest = restOf(await otherRests(here.db), latest().exercise);
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
