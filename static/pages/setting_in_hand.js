/** Beside a setting while it is in hand: what more or less does, and what the numbers would be a step away. */

const QUIET_MS = 250;

/**
 * @param {HTMLFormElement} form
 * @param {(path: string) => Promise<HTMLElement>} ask
 */
export function watchSettings(form, ask) {
  let timer = 0;
  let latest = "";

  /** @param {HTMLElement} target */
  function later(target) {
    const input = target.closest(".dials input[inputmode='decimal'][name]");
    const place = target.closest(".panel")?.querySelector("[data-in-hand]");
    if (!(input instanceof HTMLInputElement) || !(place instanceof HTMLElement)) return;
    clearTimeout(timer);
    timer = window.setTimeout(() => void show(input.name, place), QUIET_MS);
  }

  /** @param {string} field @param {HTMLElement} place */
  async function show(field, place) {
    latest = field;
    try {
      const told = await ask(`beside?field=${encodeURIComponent(field)}`);
      if (latest !== field) return;
      const open = place.querySelector("details[data-keep-open]")?.hasAttribute("open") ?? false;
      place.replaceChildren(...told.childNodes);
      place.querySelector("details[data-keep-open]")?.toggleAttribute("open", open);
      place.hidden = false;
    } catch { /* away: what stands there stays */ }
  }

  /** Puts the note away when something else is in hand; what stands beside belongs to it, and must not move under a press. @param {Element | null} target */
  function leave(target) {
    if (target?.closest(".dials, .beside")) return;
    clearTimeout(timer);
    latest = "";
    for (const place of form.querySelectorAll("[data-in-hand]")) /** @type {HTMLElement} */ (place).hidden = true;
  }

  document.addEventListener("focusin", (event) => leave(/** @type {Element} */ (event.target)));
  form.addEventListener("keydown", (event) => { if (event.key === "Escape") leave(null); });
  form.addEventListener("focusin", (event) => later(/** @type {HTMLElement} */ (event.target)));
  form.addEventListener("input", (event) => later(/** @type {HTMLElement} */ (event.target)));
}
