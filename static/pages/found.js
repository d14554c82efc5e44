/** A session found after a dead phone: is the unit still on? Then the skin is looked at, and it is kept as cut off with what was cued. */
import { begin, onlyWindow, pageOf } from "../parts/begin.js";
import { one, only, onPress } from "../parts/elements.js";
import { screensOf } from "../parts/screens.js";
import { ENDED, unitMayBeOn } from "../parts/session.js";

const here = await begin(document, null, "none");
const screens = screensOf(one(document, ".steps"));
const found = here.draft;
if (!found || !unitMayBeOn(found.stage)) await here.go("today");
const draft = /** @type {NonNullable<typeof found>} */ (found);
only(document, draft.exercise);
if (!(await onlyWindow())) screens.show("elsewhere");

onPress(document, "[data-maybe]", () => screens.show("off"));
onPress(document, "[data-is-off]", () => screens.show("pads"));
onPress(document, "[data-pads-off]", async () => {
  const ended = draft.ended === ENDED.unknown ? ENDED.interrupted : draft.ended;
  /** @type {import("../parts/session.js").Draft} */
  const cutOff = { ...draft, ended, stage: "skin-after" };
  await here.go(pageOf(cutOff), cutOff);
});
