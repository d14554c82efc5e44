/** Trying the set-up without the unit: one step a screen. It opens no store, so nothing of it can be kept; it works offline. */
import { one, onPress } from "../parts/elements.js";
import { screensOf } from "../parts/screens.js";

const group = one(document, ".steps");
const screens = screensOf(group);
const alive = group.dataset["alive"];

/** On a phone without a pack the steps are lent for a while: once they are taken back, the page says so. */
async function lookWhetherLent() {
  if (!alive) return;
  const answer = await fetch(alive, { cache: "no-store" }).catch(() => null); // without a network it stays as it is
  if (answer && !answer.ok) location.reload();
}

onPress(group, "[data-done]", () => { screens.next(); void lookWhetherLent(); });
onPress(group, "[data-back]", () => screens.back());
onPress(group, "[data-again]", () => { if (alive) location.reload(); else screens.show(screens.steps[0]); });
