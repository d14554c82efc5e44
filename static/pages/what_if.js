/** What if, on the review: the form is fetched when it is opened, and the figures follow each change. */

const WAIT_MS = 200;

/** @type {AbortController | null} */
let asking = null;
let timer = 0;

/** @param {HTMLFormElement} form */
async function refresh(form) {
  asking?.abort();
  const mine = new AbortController();
  asking = mine;
  try {
    const answer = await fetch(`${form.action}?part=figures`, { method: "POST", body: new FormData(form), signal: mine.signal });
    const place = form.querySelector("[data-figures]");
    if (answer.ok && asking === mine && place) place.innerHTML = await answer.text();
  } catch { /* away or overtaken: the button asks without a script */ }
}

/** @param {ParentNode} place */
function watch(place) {
  const form = place.querySelector("form[data-what-if]");
  if (!(form instanceof HTMLFormElement)) return;
  for (const button of form.querySelectorAll("[data-look]")) button.remove();
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => void refresh(form), WAIT_MS);
  });
}

/** Fetches the form into its panel, once; without a network the link inside leads to the page itself. @param {HTMLDetailsElement} panel */
async function open(panel) {
  const link = panel.querySelector("a[data-form]");
  if (!panel.open || !(link instanceof HTMLAnchorElement)) return;
  const answer = await fetch(link.href).catch(() => null);
  if (!answer?.ok) return;
  const place = document.createElement("div");
  place.innerHTML = await answer.text();
  link.replaceWith(place);
  watch(place);
  place.querySelector("input:not([type=hidden])")?.scrollIntoView({ block: "nearest" });
}

const panel = document.querySelector("details[data-what-if-panel]");
if (panel instanceof HTMLDetailsElement) panel.addEventListener("toggle", () => void open(panel));
watch(document);
