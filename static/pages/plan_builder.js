/** The plan builder: hills, numbers and findings follow each change; buttons that change the form's shape keep all that was typed. */
import { watchDrawings } from "./pad_drawing.js";
import { watchPhotos } from "./pad_photo.js";
import { watchSettings } from "./setting_in_hand.js";
import { makeSaving } from "./plan_saving.js";
import { makeTabs } from "./plan_tabs.js";
import { makeWords } from "./plan_words.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("plan-form"));
const saving = makeSaving(form);
const movement = /** @type {HTMLSelectElement | null} */ (form.elements.namedItem("ex1.movement"));
form.dataset.fresh = movement?.value ? "no" : "yes";
const words = makeWords(form, (path) => ask(path), () => saving.changed());
const tabs = makeTabs(form, (panel) => {
  if (panel.id.endsWith("-steps")) void refreshSteps(panel);
  if (panel.id.endsWith("-words")) void words.refresh(panel);
});

/** @type {AbortController | null} */
let asking = null;
let saidTimer = 0;

/** @param {string} path @param {AbortSignal} [signal] */
async function ask(path, signal) {
  const answer = await fetch(`${form.action}/${path}`, { method: "POST", body: new FormData(form), signal: signal ?? null });
  if (!answer.ok) throw new Error(String(answer.status));
  return new DOMParser().parseFromString(await answer.text(), "text/html").body;
}

/** Asks the server's core about the exercise on show; only the latest answer counts. */
async function refreshFigures() {
  asking?.abort();
  const mine = new AbortController();
  asking = mine;
  const n = tabs.exercise();
  try {
    const told = await ask(`figures?exercise=${n}`, mine.signal);
    if (asking === mine) show(n, /** @type {HTMLElement} */ (told.firstElementChild));
  } catch { /* away or overtaken: the figures stay as they are, and saving says what is the matter */ }
}

/** @param {number} n @param {HTMLElement} fresh */
function show(n, fresh) {
  const place = form.querySelector(`[data-figures="${n}"] .figures`);
  if (!(place instanceof HTMLElement)) return;
  for (const part of fresh.querySelectorAll("[data-part]")) {
    const old = place.querySelector(`[data-part="${part.getAttribute("data-part")}"]`);
    for (const details of old?.querySelectorAll("details[data-keep-open]") ?? []) {
      const same = part.querySelector(`details[data-keep-open="${CSS.escape(details.getAttribute("data-keep-open") ?? "")}"]`);
      if (same) /** @type {HTMLDetailsElement} */ (same).open = /** @type {HTMLDetailsElement} */ (details).open;
    }
    if (old && old.innerHTML !== part.innerHTML) old.innerHTML = part.innerHTML;
  }
  const placing = form.querySelector(`[data-placing="${n}"]`);
  if (placing) placing.innerHTML = fresh.querySelector("[data-of-places]")?.innerHTML ?? "";
  const proposed = form.querySelector(`[data-proposed="${n}"]`);
  if (proposed) proposed.innerHTML = fresh.querySelector("[data-of-trial]")?.innerHTML ?? "";
  const building = form.querySelector(`[data-building="${n}"]`);
  if (building) building.innerHTML = fresh.querySelector("[data-of-builds]")?.innerHTML ?? "";
  markWrong(n, place);
  const issue = /** @type {HTMLElement} */ (form.querySelector("[data-issue]:is(button)"));
  issue.textContent = fresh.dataset.issue ?? "";
  issue.className = fresh.dataset.stops === "0" ? "go" : "to-mend";
  clearTimeout(saidTimer);
  saidTimer = window.setTimeout(() => { /** @type {HTMLElement} */ (form.querySelector("p[data-said]")).textContent = fresh.dataset.said ?? ""; }, 1_000);
}

/** Marks the fields that a finding or a problem names, so that it is seen at the field too. @param {number} n @param {HTMLElement} place */
function markWrong(n, place) {
  const named = new Set([...place.querySelectorAll(".finding.trouble:not(.missing .trouble) a")].map((a) => a.getAttribute("href")?.slice(1)));
  for (const input of document.querySelectorAll(`#ex${n} :is(input, textarea)`)) {
    if (named.has(input.id)) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
}

/** @param {HTMLElement} panel */
async function refreshSteps(panel) {
  const n = Number(panel.id.replace(/\D/g, ""));
  const old = panel.querySelector("[data-steps]");
  try {
    const fresh = (await ask(`steps?exercise=${n}`)).querySelector("[data-steps]");
    if (old && fresh && !old.contains(document.activeElement)) old.replaceWith(fresh);
  } catch { /* away: the steps stay as they are */ }
}

/** Lets the server rebuild the form (a movement chosen, a step moved …); what is typed meanwhile is put back. @param {string} action */
function rebuild(action) {
  const focused = document.activeElement?.id ?? "";
  return saving.send(action, async (answer, sent) => {
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("plan-form");
    if (!fresh) return;
    const typed = [...new FormData(form)].filter(([name, value]) => sent.get(name) !== value);
    const shown = new Map([...form.querySelectorAll("details[data-keep-open]")].map((one) => [one.getAttribute("data-keep-open"), /** @type {HTMLDetailsElement} */ (one).open]));
    form.replaceChildren(...fresh.childNodes);
    for (const one of /** @type {NodeListOf<HTMLDetailsElement>} */ (form.querySelectorAll("details[data-keep-open]"))) one.open = shown.get(one.getAttribute("data-keep-open")) ?? one.open;
    const told = tellOfStart(action);
    for (const [name, value] of typed) {
      const field = form.elements.namedItem(name);
      const hidden = field instanceof HTMLInputElement && field.type === "hidden"; // those are the server's
      if (field && "value" in field && !hidden) field.value = /** @type {string} */ (value);
    }
    tabs.refresh();
    for (const panel of form.querySelectorAll("[id$='-words']:not([hidden])")) void words.refresh(panel);
    if (action === "exercise_add") tabs.open(`ex${form.querySelectorAll("[data-exercise]").length}-place`);
    (told ?? document.getElementById(focused))?.focus();
    if (typed.length) saving.changed();
  });
}

/** After a starting point is used its list is closed, and what it changed is said in its place. @param {string} action */
function tellOfStart(action) {
  for (const told of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll("[data-told]"))) {
    told.hidden = !told.textContent?.trim();
    if (told.hidden) continue;
    const list = /** @type {HTMLDetailsElement | null} */ (told.parentElement?.querySelector(".starts"));
    if (list && action.startsWith("start_from")) list.open = false;
    return told;
  }
  return null;
}

watchPhotos(form, rebuild);
watchSettings(form, (path) => ask(path));
watchDrawings(form, () => { saving.changed(); void refreshFigures(); });
form.addEventListener("input", () => { saving.changed(); void refreshFigures(); });
form.addEventListener("keydown", (event) => { // as in a field of one line: Enter saves
  if (event.key !== "Enter" || !(/** @type {HTMLElement} */ (event.target).matches("[data-one-line]"))) return;
  event.preventDefault();
  void saving.flush();
});
form.addEventListener("change", (event) => {
  if (/** @type {HTMLElement} */ (event.target).matches("[data-restructures]")) void rebuild("restructure");
});
form.addEventListener("click", (event) => {
  const button = /** @type {HTMLElement} */ (event.target).closest("[data-set]");
  if (!(button instanceof HTMLElement)) return;
  const name = button.dataset.set ?? "";
  const field = form.elements.namedItem(name);
  if (field && "value" in field) field.value = button.dataset.value ?? "";
  tabs.open(name);
  saving.changed();
  if (field instanceof HTMLSelectElement || field instanceof RadioNodeList) void rebuild("restructure");
  else void refreshFigures();
});
form.addEventListener("submit", (event) => {
  const action = /** @type {HTMLButtonElement | null} */ (event.submitter)?.value ?? "save";
  event.preventDefault();
  if (action === "check") void goToCheck();
  else if (action === "save") void saving.flush();
  else void rebuild(action);
});

function goToCheck() {
  return saving.send("check", (answer) => location.assign(answer.url));
}

tabs.refresh();
if (location.hash.length > 1) tabs.open(decodeURIComponent(location.hash.slice(1)));
form.dataset.ready = "yes";
