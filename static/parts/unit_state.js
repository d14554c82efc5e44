/** The line that says whether the unit may be on. */
import { one } from "./elements.js";

/** The client has said that it is off. @param {Document} page */
export function saysOff(page) {
  const state = one(page, "[data-state]");
  state.textContent = state.dataset["textOff"] ?? "";
  state.classList.add("off");
}
