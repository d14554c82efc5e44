/** Photos of where the pads go: taken or chosen, sent to the clinic's server, which keeps nothing of the file but the picture. */

import { sendPhoto } from "../parts/photo_sending.js";

const MARKS = ["pad_a.photo_x", "pad_a.photo_y", "pad_b.photo_x", "pad_b.photo_y"];

/**
 * @param {HTMLFormElement} form
 * @param {(action: string) => Promise<void>} rebuild
 */
export function watchPhotos(form, rebuild) {
  /** Shows the buttons: without this script there are none. */
  function show() {
    for (const acts of form.querySelectorAll("[data-photo-acts]")) /** @type {HTMLElement} */ (acts).hidden = false;
  }

  /** @param {string} ch @param {Record<string, string>} values */
  function set(ch, values) {
    for (const [name, value] of Object.entries(values)) {
      const field = form.elements.namedItem(`${ch}.${name}`);
      if (field instanceof HTMLInputElement) field.value = value;
    }
  }

  /** @param {HTMLElement} place @param {File} file */
  async function send(place, file) {
    const says = /** @type {HTMLElement} */ (place.querySelector("[data-photo-says]"));
    says.textContent = says.dataset.busy ?? "";
    const token = /** @type {HTMLInputElement} */ (form.elements.namedItem("csrf_token")).value;
    try {
      const told = await sendPhoto(document, `${form.action}/photos`, token, file);
      if (told.big) { says.textContent = says.dataset.big ?? ""; return; }
      says.textContent = told.problem ?? "";
      if (!told.photo) return;
      set(place.dataset.photoOf ?? "", { photo: told.photo, photo_height: String(told.height), ...Object.fromEntries(MARKS.map((name) => [name, ""])) });
      await rebuild("restructure");
    } catch {
      says.textContent = says.dataset.away ?? "";
    }
  }

  form.addEventListener("change", (event) => {
    const input = /** @type {HTMLInputElement} */ (event.target);
    const place = /** @type {HTMLElement | null} */ (input.closest("[data-photo-of]"));
    const file = input.files?.[0];
    if (!place || !file || !input.matches("[data-photo]")) return;
    input.value = "";
    void send(place, file);
  });
  form.addEventListener("click", (event) => {
    const place = /** @type {HTMLElement} */ (event.target).closest("[data-photo-remove]")?.closest("[data-photo-of]");
    if (!(place instanceof HTMLElement)) return;
    set(place.dataset.photoOf ?? "", { photo: "", photo_height: "", ...Object.fromEntries(MARKS.map((name) => [name, ""])) });
    void rebuild("restructure");
  });
  new MutationObserver(show).observe(form, { childList: true });
  show();
}
