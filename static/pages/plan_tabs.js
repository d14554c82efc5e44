/** Tabs of the plan builder: exercises and the whole plan, and the parts of each exercise. Without this script all parts stand below one another. */

/** @typedef {{open: (id: string) => void, refresh: () => void, exercise: () => number}} Tabs */

/**
 * Turns links to parts of the page into tabs and keeps what is open across a rebuilt form.
 * @param {HTMLElement} root
 * @param {(panel: HTMLElement) => void} onOpen called when a part is shown
 * @returns {Tabs}
 */
export function makeTabs(root, onOpen) {
  let chosen = "ex1";
  /** @type {Map<string, string>} */
  const parts = new Map();

  /** @param {string} id */
  const byId = (id) => /** @type {HTMLElement | null} */ (document.getElementById(id));

  /** @param {HTMLElement} list @param {HTMLElement} link @param {boolean} on */
  function mark(list, link, on) {
    link.setAttribute("role", "tab");
    link.setAttribute("aria-selected", String(on));
    link.tabIndex = on ? 0 : -1;
    list.setAttribute("role", "tablist");
    const row = list.parentElement?.matches(".chooser") ? list.parentElement : list;
    if (on) row.scrollLeft = link.offsetLeft - row.offsetLeft - (row.clientWidth - link.offsetWidth) / 2; // on a phone it is one row
  }

  function paintExercises() {
    const chooser = /** @type {HTMLElement} */ (root.querySelector("[data-chooser]"));
    if (!byId(chosen)) chosen = "ex1";
    for (const section of root.querySelectorAll(".exercise")) /** @type {HTMLElement} */ (section).hidden = section.id !== chosen;
    for (const link of chooser.querySelectorAll("[data-choose]")) {
      mark(chooser, /** @type {HTMLElement} */ (link), link.getAttribute("data-choose") === chosen);
    }
  }

  function paintParts() {
    for (const list of root.querySelectorAll("[data-tabs]")) {
      const links = [...list.querySelectorAll("[data-tab]")];
      const exercise = /** @type {HTMLElement} */ (list.closest(".exercise")).id;
      const first = links[root.dataset.fresh === "yes" ? 0 : 1] ?? links[0];
      const open = parts.get(exercise) ?? first?.getAttribute("data-tab") ?? "";
      for (const link of links) {
        const id = link.getAttribute("data-tab") ?? "";
        mark(/** @type {HTMLElement} */ (list), /** @type {HTMLElement} */ (link), id === open);
        const panel = byId(id);
        if (!panel) continue;
        panel.hidden = id !== open;
        panel.setAttribute("role", "tabpanel");
        panel.setAttribute("aria-label", link.textContent ?? "");
      }
    }
  }

  /** @param {string} id of a part, an exercise, or a field in one */
  function open(id) {
    const target = byId(id) ?? /** @type {HTMLElement | null} */ (root.querySelector(`[name="${CSS.escape(id)}"]`));
    const section = target?.closest(".exercise");
    if (!target || !section) return;
    chosen = section.id;
    const panel = target.closest("[data-panel]");
    if (panel) parts.set(section.id, panel.id);
    paintExercises();
    paintParts();
    if (panel) onOpen(/** @type {HTMLElement} */ (panel));
    for (let details = target.closest("details"); details; details = details.parentElement?.closest("details") ?? null) details.open = true;
    if (target !== section && target !== panel) target.focus();
  }

  root.addEventListener("click", (event) => {
    const link = /** @type {HTMLElement} */ (event.target).closest("a[href^='#'], a[href*='/plan#']");
    const id = link?.getAttribute("href")?.split("#")[1];
    if (!link || !id) return;
    event.preventDefault();
    open(id);
    history.replaceState(null, "", `#${id}`);
  });

  root.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const list = /** @type {HTMLElement} */ (event.target).closest("[role='tablist']");
    if (!step || !list) return;
    const links = /** @type {HTMLElement[]} */ ([...list.querySelectorAll("[role='tab']")]);
    const next = links[(links.indexOf(/** @type {HTMLElement} */ (event.target)) + step + links.length) % links.length];
    next?.click();
    next?.focus();
  });

  return {
    open,
    refresh() { paintExercises(); paintParts(); },
    exercise: () => Number(chosen.replace("ex", "")) || 1,
  };
}
