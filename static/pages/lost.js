/** It stopped, or one side went quiet: both to zero, off, only now leads and pads, again from zero; twice is enough for today. */
import { begin, draftOf } from "../parts/begin.js";
import { one, onPress } from "../parts/elements.js";
import { writeRecord } from "../parts/log_store.js";
import { screensOf } from "../parts/screens.js";
import { ENDED } from "../parts/session.js";
import { saysOff } from "../parts/unit_state.js";

const TWICE = 2;
const CONTACT_LOST_TWICE = 6;

const here = await begin(document, "zero");
const group = one(document, ".steps");
const screens = screensOf(group);

onPress(group, "[data-done]", () => screens.next());
onPress(group, "[data-off]", () => {
  saysOff(document);
  screens.show(draftOf(here).lost_n >= TWICE ? "twice" : "leads");
});
onPress(group, "[data-again]", () => here.go(group.dataset["next"] ?? "today", draftOf(here)));
onPress(group, "[data-no-more]", finish);
onPress(group, "[data-finished-today]", async () => {
  await writeRecord(here.db, "not_today", { exercise: draftOf(here).exercise, why: CONTACT_LOST_TWICE, note: "" });
  await finish();
});

function finish() {
  return here.go(`${group.dataset["finished"]}?off=1`, { ...draftOf(here), stage: "end", ended: ENDED.contactLost });
}
