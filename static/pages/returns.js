/** Read a log: the codes of a phone by camera, pictures or files, kept in this tab until the server has taken them in. */

import { isAllowed } from "../parts/camera.js";
import { prepareReader } from "../parts/code_reader.js";
import { every, one, onPress } from "../parts/elements.js";
import { handIn } from "../parts/handing_in.js";
import { contentOf } from "../parts/picture_files.js";
import { isPayload, ReadPayloads } from "../parts/read_payloads.js";
import { LiveView } from "./returns_camera.js";

const AGAIN_MS = 5000;
const main = one(document, "main.returns");
const texts = one(document, "#returns-texts").dataset;
const read = new ReadPayloads(sessionStorage);
const reader = prepareReader().then(() => true, () => false);
const live = new LiveView(one(main, "[data-camera]"), reader, text, (payloads) => keep(payloads, "code"));
let isAsking = false;
let askAgain = false;
let timer = 0;

/** @param {string} name @param {Record<string, string | number>} [values] */
function text(name, values = {}) {
  const key = name.replace(/[._-]+(\w)/g, (_all, letter) => letter.toUpperCase());
  return (texts[key] ?? name).replace(/\{(\w+)\}/g, (all, value) => String(values[value] ?? all));
}

/** @param {string} name @param {number} n @param {Record<string, string>} [values] */
const counted = (name, n, values = {}) => text(`${name}.${n === 1 ? "one" : "other"}`, { n, ...values });

/** @param {string} selector @param {string} words  "" hides it */
function say(selector, words) {
  const place = one(main, selector);
  if (place.textContent !== words) place.textContent = words;
  place.hidden = !words;
}

/** What was read of the codes that the last phone shows, or of all where that is not known. */
function codesWords() {
  const { of, missing } = read.showing;
  return of > 1 && read.size <= of ? text("parts", { n: of - missing.length, of }) : counted("codes", read.size);
}

function showCount() {
  const whose = every(main, "[data-preview] [data-whose]").map((part) => part.dataset["whose"]);
  const missing = main.querySelector("[data-lacking]") ? [] : read.showing.missing; // else it would be said twice
  say("[data-count]", read.size ? [codesWords(), ...whose].join(" · ") : text("nothing"));
  say("[data-missing]", missing.length ? counted("still_missing", missing.length, { numbers: missing.join(", ") }) : "");
  say("[data-note]", read.size ? counted("waiting", read.size) : "");
  one(main, "[data-forget]").hidden = !read.size;
}

/** @param {import("../parts/handing_in.js").Trouble | ""} trouble */
function showTrouble(trouble) {
  say("[data-problem]", trouble ? text(trouble) : "");
  one(main, "[data-try]").hidden = !trouble || trouble === "too_large";
  one(main, "[data-sign-in]").hidden = trouble !== "signed_out";
  window.clearTimeout(timer);
  if (trouble === "offline" || trouble === "signed_out") timer = window.setTimeout(() => void preview(), AGAIN_MS);
}

/** Shows whose log it is; what was read while the server worked is asked about right after. */
async function preview() {
  if (!read.size) return;
  askAgain = isAsking;
  if (isAsking) return;
  isAsking = true;
  const answer = await handIn("preview", read.payloads, read.road);
  isAsking = false;
  if (!answer.trouble && read.size) one(main, "[data-preview]").innerHTML = answer.html;
  showTrouble(answer.trouble);
  showCount();
  if (askAgain) void preview();
}

async function takeIn() {
  const button = /** @type {HTMLButtonElement} */ (one(main, "[data-take-in]"));
  if (isAsking || button.disabled) return;
  isAsking = button.disabled = true;
  const handed = read.payloads;
  const answer = await handIn("take-in", handed, read.road);
  isAsking = button.disabled = false;
  showTrouble(answer.trouble);
  if (answer.trouble) return;
  live.stop();
  read.forget(handed);
  one(main, "[data-preview]").innerHTML = answer.html;
  showCount();
  say("[data-count]", "");
  one(main, "#read-heading").focus();
}

/** @param {string[]} found @param {import("../parts/read_payloads.js").Road} road */
function keep(found, road) {
  if (!read.add(found, road)) return;
  if (main.querySelector(".taken")) one(main, "[data-preview]").replaceChildren();
  showCount();
  void preview();
}

// --- files ---

/** @param {Iterable<File>} files */
async function takeFiles(files) {
  for (const file of files) {
    say("[data-problem]", "");
    say("[data-count]", text("looking", { name: file.name }));
    if (/^(image|video)\//.test(file.type) && !(await reader)) return say("[data-problem]", text("trouble.reader"));
    const { texts: found, isLog, isTooLarge } = await contentOf(file, document.createElement("video"));
    showCount();
    const payloads = isLog ? found : found.filter(isPayload);
    keep(payloads, isLog ? "file" : "code");
    if (isTooLarge) say("[data-problem]", text("too_large"));
    else if (!payloads.length) say("[data-problem]", text(isLog ? "not_a_log" : "no_codes", { name: file.name }));
  }
}

const chooser = /** @type {HTMLInputElement} */ (one(main, "#files"));
chooser.addEventListener("change", () => {
  const files = [...(chooser.files ?? [])];
  chooser.value = "";
  void takeFiles(files);
});
document.addEventListener("dragover", (event) => event.preventDefault());
document.addEventListener("drop", (event) => {
  event.preventDefault();
  void takeFiles(event.dataTransfer?.files ?? []);
});

// --- the page ---

onPress(main, "[data-try]", () => void preview());
onPress(main, "[data-forget]", () => {
  read.forget();
  one(main, "[data-preview]").replaceChildren();
  showTrouble("");
  showCount();
});
one(main, "[data-preview]").addEventListener("click", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-take-in]")) void takeIn();
});
for (const name of ["online", "focus"]) window.addEventListener(name, () => void (one(main, "[data-try]").hidden || preview()));
window.addEventListener("beforeunload", (event) => { if (read.size) event.preventDefault(); });
window.addEventListener("pagehide", () => live.stop());

showCount();
void preview();
if (await isAllowed()) void live.start();
