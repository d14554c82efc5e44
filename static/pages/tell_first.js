/** Today after pain: whom to call, and the one press that says that the therapist was told. */
import { make } from "../parts/elements.js";
import { dayOf } from "../parts/local_time.js";
import { setMeta } from "../parts/log_store.js";

/** Whom to call, as the page brings it. @param {Document} page */
export function callCard(page) {
  const call = /** @type {HTMLTemplateElement | null} */ (page.querySelector("[data-call]"));
  return call ? [call.content.cloneNode(true)] : [];
}

/**
 * @param {import("../parts/begin.js").Here} here
 * @param {import("../parts/telling.js").Telling} telling
 * @param {HTMLElement} notices
 */
export function showTelling(here, telling, notices) {
  const { page, say } = here;
  const box = make(page, "div", "card next");
  const today = dayOf(telling.at_min) === dayOf(here.nowMin());
  const why = `${telling.unwell ? "unwell" : "pain"}${today ? "" : "_last"}`;
  const told = make(page, "button", "btn", say("phone.tell.told"));
  told.addEventListener("click", async () => {
    await setMeta(here.db, "told_of", telling.seq);
    await here.go("today");
  });
  box.append(make(page, "h2", "", say(`phone.tell.${why}`)), ...callCard(page), told);
  notices.append(box);
}
