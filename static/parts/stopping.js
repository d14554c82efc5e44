/** The stop sheet: the unit off first, then why; and the way to the end pages. Help and lost contact on the same pages. */
import { askedToStop } from "./asked_to_stop.js";
import { draftOf } from "./begin.js";
import { every, onPress } from "./elements.js";
import { showView } from "./sheets.js";

/**
 * Wires Stop, and *it stopped, or one side is quiet*, on a page where the unit may be on.
 * @param {import("./begin.js").Here} here
 * @param {{latest?: () => import("./session.js").Draft, onStop?: () => void, onAsked?: () => void, isOver?: () => boolean}} [of]
 *   latest: the draft with what was cued so far; onAsked: the clinic, or another phone, says that practice has to stop;
 *   isOver: its time is up, and the unit is being turned off
 */
export function wireStopping(here, { latest = () => draftOf(here), onStop = () => undefined, onAsked = onStop, isOver = () => false } = {}) {
  const { page } = here;
  const [sheet] = every(page, "[data-sheet=stop]");
  onPress(page, "[data-open=stop]", () => { if (sheet) showView(sheet, "stop-view", "off"); });
  let off = false;
  sheet?.addEventListener("cancel", (event) => { if (off) event.preventDefault(); });
  onPress(page, "[data-unit-off]", () => {
    off = true;
    onStop();
    if (sheet) showView(sheet, "stop-view", "why");
  });
  onPress(page, "[data-ended]", (button) => {
    const draft = latest();
    return here.go(`end-${draft.exercise}?off=1`, { ...draft, stage: "end", ended: Number(button.dataset["ended"]) });
  });
  onPress(page, "[data-lost]", (_link, event) => {
    event.preventDefault();
    onStop();
    const draft = latest();
    return here.go(`lost-${draft.exercise}`, { ...draft, stage: "zero", lost_n: draft.lost_n + 1 });
  });
  void askedToStop(here, { latest, isOff: () => off || isOver(), onAsked });
}
