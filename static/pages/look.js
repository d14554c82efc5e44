/** Half-way, where feeling is less or lost: both to zero, off, a look and a touch under the pads; then again from zero, or the end. */
import { begin, draftOf } from "../parts/begin.js";
import { one, onPress } from "../parts/elements.js";
import { screensOf } from "../parts/screens.js";
import { ENDED } from "../parts/session.js";
import { saysOff } from "../parts/unit_state.js";

const here = await begin(document, "zero");
const group = one(document, ".steps");
const screens = screensOf(group);

onPress(group, "[data-done]", () => screens.next());
onPress(group, "[data-off]", () => {
  saysOff(document);
  screens.show("lift");
});
onPress(group, "[data-same]", () => screens.show("press"));
onPress(group, "[data-again]", () => here.go(group.dataset["next"] ?? "today", draftOf(here)));
onPress(group, "[data-new]", () => here.go(`${group.dataset["finished"]}?off=1`, { ...draftOf(here), stage: "end", ended: ENDED.skin }));
