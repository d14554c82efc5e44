/** Taps at what a unit does, live or on a film of it: when it starts, is full, eases, rests. The server finds what fits. */

const form = /** @type {HTMLFormElement} */ (document.getElementById("measure"));
const bench = /** @type {HTMLElement} */ (form.querySelector("[data-bench]"));
const film = /** @type {HTMLVideoElement} */ (form.querySelector("[data-film]"));
const told = /** @type {HTMLElement} */ (form.querySelector("[data-told]"));
const seen = /** @type {HTMLInputElement} */ (form.elements.namedItem("seen"));
const turns = /** @type {HTMLSelectElement} */ (form.elements.namedItem("turns"));
const EDGES = ["rise", "hold", "ease", "rest"];
const ENOUGH = 5;
const HIT_MS = 160;

/** @typedef {{taps: [string, number][], started: number | null, ended: number | null, goes_on: boolean}} Seen */
/** @type {Seen} */
let noted = { taps: [], started: null, ended: null, goes_on: false };
/** @type {(() => void)[]} */
let undo = [];
const beganMs = performance.now();

/** On a film its own time counts, so that it may be paused, slowed and wound back. @param {Event} event */
const atMs = (event) => Math.round(film.hidden ? event.timeStamp - beganMs : film.currentTime * 1000);

/** @param {() => void} change */
function note(change) {
  const before = structuredClone(noted);
  undo.push(() => { noted = before; });
  change();
  show();
}

/** @param {HTMLElement} button @param {Event} event */
function press(button, event) {
  const ms = atMs(event);
  const { edge, mark } = button.dataset;
  button.classList.add("hit");
  setTimeout(() => button.classList.remove("hit"), HIT_MS);
  note(() => {
    if (edge) noted.taps.push([edge, ms]);
    else if (mark === "goes_on") { noted.goes_on = true; noted.ended = null; }
    else if (mark === "ended") { noted.ended = ms; noted.goes_on = false; }
    else noted.started = ms;
  });
}

function show() {
  const last = noted.taps.at(-1)?.[0] ?? "rest";
  const next = EDGES[(EDGES.indexOf(last) + 1) % EDGES.length];
  for (const button of form.querySelectorAll("[data-edge]")) button.classList.toggle("next", button.getAttribute("data-edge") === next);
  const cycles = noted.taps.filter(([edge]) => edge === "rise").length;
  const said = noted.taps.length === 0 ? [told.dataset["none"]]
    : [told.dataset["cycles"]?.replace("{n}", String(cycles)).replace("{edge}", form.querySelector(`[data-edge="${last}"] span`)?.textContent ?? ""),
      cycles >= ENOUGH && last === "rest" ? told.dataset["enough"] : ""];
  const marks = [noted.started === null ? "" : told.dataset["started"], noted.ended === null ? "" : told.dataset["ended"], noted.goes_on ? told.dataset["goes_on"] : ""];
  told.textContent = [...said, ...marks].filter(Boolean).join(" ");
  seen.value = JSON.stringify(noted);
}

function restart() {
  noted = { taps: [], started: null, ended: null, goes_on: false };
  undo = [];
  show();
}

/** Shows a film from this computer; it is played here and sent nowhere. @param {File} file */
function openFilm(file) {
  if (film.src) URL.revokeObjectURL(film.src);
  film.src = URL.createObjectURL(file);
  film.hidden = false;
  /** @type {HTMLElement} */ (form.querySelector("[data-film-speed]")).hidden = false;
  restart();
}

form.addEventListener("pointerdown", (event) => {
  const button = /** @type {HTMLElement} */ (event.target).closest("[data-edge], [data-mark]");
  if (button instanceof HTMLElement) press(button, event);
});
form.addEventListener("click", (event) => {
  const at = /** @type {HTMLElement} */ (event.target);
  const button = at.closest("[data-edge], [data-mark]");
  if (button instanceof HTMLElement && event.detail === 0) press(button, event); // by a key: no pointer went down
  if (at.closest("[data-undo]")) { undo.pop()?.(); show(); }
  if (at.closest("[data-again]")) restart();
  const slower = at.closest("[data-slower]");
  if (slower) {
    const slow = slower.getAttribute("aria-pressed") !== "true";
    slower.setAttribute("aria-pressed", String(slow));
    film.playbackRate = slow ? 0.5 : 1;
  }
});
document.addEventListener("keydown", (event) => {
  if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || event.target instanceof HTMLInputElement) return;
  const button = form.querySelector(`[data-key="${CSS.escape(event.key)}"]`);
  if (button instanceof HTMLElement) press(button, event);
});
form.querySelector("[data-film-file]")?.addEventListener("change", (event) => {
  const [file] = /** @type {HTMLInputElement} */ (event.target).files ?? [];
  if (file) openFilm(file);
});
film.addEventListener("error", () => { film.hidden = true; /** @type {HTMLElement} */ (form.querySelector("[data-film-trouble]")).hidden = false; });
film.addEventListener("loadedmetadata", () => { /** @type {HTMLElement} */ (form.querySelector("[data-film-trouble]")).hidden = true; });

function showDelay() {
  /** @type {HTMLElement} */ (form.querySelector("[data-with-two]")).hidden = turns.value !== "2";
}
turns.addEventListener("change", showDelay);
showDelay();
bench.hidden = false;
if (seen.value) { noted = JSON.parse(seen.value); show(); }
/** @type {HTMLElement | null} */ (document.querySelector("[data-result]"))?.focus();
form.dataset["ready"] = "yes";
