/** "The cues have stopped": shown as soon as silence is noticed, with the unit's own off switch. Only a tap goes on. */
import { one, onPress } from "./elements.js";
import { openSheet } from "./sheets.js";

const STAYS_SILENT_MS = 1500;

/**
 * Takes the sheet in hand.
 * @param {Document} page
 * @param {object} of
 * @param {() => Promise<boolean>} of.wakeSound  asks for sound inside the tap; whether it comes
 * @param {(withSound: boolean) => void} of.onGoOn
 */
export function stoppedSheet(page, { wakeSound, onGoOn }) {
  const sheet = /** @type {HTMLDialogElement} */ (one(page, "[data-sheet=stopped]"));
  const silent = one(sheet, "[data-still-silent]");
  const without = /** @type {HTMLButtonElement} */ (one(sheet, "[data-without]"));
  const still = (/** @type {boolean} */ shown) => { silent.hidden = without.hidden = !shown; };
  let triedMs = -Infinity;

  function goOn(/** @type {boolean} */ withSound) {
    sheet.close();
    onGoOn(withSound);
  }

  sheet.addEventListener("cancel", (event) => event.preventDefault());
  onPress(sheet, "[data-go-on]", async () => {
    triedMs = performance.now();
    if (await wakeSound()) goOn(true);
    else still(true);
  });
  onPress(sheet, "[data-without]", () => goOn(false));
  return {
    isOpen: () => sheet.open,
    /** Says that the cues have stopped. Where sound stops again right after a tap, the way without sound is offered. */
    show() {
      still(performance.now() - triedMs < STAYS_SILENT_MS * 4);
      openSheet(page, "stopped");
    },
  };
}
