/** The notice that new pads are due, and the one press that notes them. */
import { make, one } from "../parts/elements.js";
import { writeRecord } from "../parts/log_store.js";
import { newPads, padsDue } from "../parts/pads_due.js";

/**
 * @param {import("../parts/begin.js").Here} here
 * @param {import("../parts/day.js").Kept[]} log
 * @param {HTMLElement} notices
 */
export function showPads(here, log, notices) {
  const used = padsDue(here.plan, log);
  if (used === 0) return;
  const box = make(document, "div", "card next");
  box.dataset["pads"] = "";
  const button = make(document, "button", "btn", here.say("phone.pads.done"));
  button.addEventListener("click", async () => {
    await writeRecord(here.db, "changed", newPads(here.plan));
    box.remove();
    one(document, "[data-live]").textContent = here.say("phone.pads.noted");
  });
  box.append(make(document, "h2", "", here.say("phone.pads.due")), make(document, "p", "", here.say("phone.pads.due_words", { n: used })), button);
  notices.append(box);
}
