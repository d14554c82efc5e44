/** Sheets: full-screen dialogs over a page (help, stop, pause). What runs under them goes on. */
import { every, onPress } from "./elements.js";

/**
 * Opens a sheet and puts the focus on its heading.
 * @param {ParentNode} page
 * @param {string} name
 * @returns {HTMLDialogElement | null}
 */
export function openSheet(page, name) {
  const sheet = /** @type {HTMLDialogElement | null} */ (page.querySelector(`[data-sheet="${name}"]`));
  if (sheet && !sheet.open) sheet.showModal();
  sheet?.querySelector("h2")?.focus({ preventScroll: true });
  sheet?.scrollTo(0, 0);
  return sheet;
}

/**
 * Wires what opens and closes the sheets of a page; a link to a sheet that is not there stays a link.
 * @param {ParentNode} page
 */
export function wireSheets(page) {
  onPress(page, "[data-open]", (opener, event) => {
    if (openSheet(page, opener.dataset["open"] ?? "")) event.preventDefault();
  });
  onPress(page, "[data-sheet] [data-close]", (button) => closeSheet(button));
}

/** @param {HTMLElement} inside */
export function closeSheet(inside) {
  /** @type {HTMLDialogElement | null} */ (inside.closest("dialog"))?.close();
}

/**
 * Shows one view of a sheet.
 * @param {HTMLElement} sheet
 * @param {string} kind  the name of the views' attribute, as `stop-view`
 * @param {string} name
 */
export function showView(sheet, kind, name) {
  for (const view of every(sheet, `[data-${kind}]`)) view.hidden = view.getAttribute(`data-${kind}`) !== name;
  every(sheet, `[data-${kind}="${name}"] h2`)[0]?.focus({ preventScroll: true });
  sheet.scrollTo(0, 0);
}
