// What the two pages outside a plan share: they get a plan onto this phone, show how far it is, and open it.

import { getMeta } from "../parts/log_store.js";
import { fetchPlan, Refused } from "../parts/joining.js";
import { StoreTrouble } from "../parts/phone_database.js";
import { root } from "../parts/place.js";
import { makeCurrent } from "../parts/updates.js";

/** @param {string} id @returns {HTMLElement} */
export function element(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no #${id}`);
  return found;
}

/** Shows one part of the page and hides its siblings. @param {string} id */
export function show(id) {
  const part = element(id);
  for (const other of part.parentElement?.querySelectorAll(":scope > [data-part]") ?? []) {
    if (other instanceof HTMLElement) other.hidden = other !== part;
  }
  part.querySelector("h1")?.focus();
}

/** @param {{done: number, of: number}} progress */
function showProgress({ done, of }) {
  const bar = element("progress-bar");
  bar.setAttribute("max", String(of));
  bar.setAttribute("value", String(done));
  const words = element("progress-words");
  words.textContent = (words.dataset["text"] ?? "").replace("{done}", String(done)).replace("{of}", String(of));
}

/** Says what went wrong, in the words of its code. @param {unknown} error */
export function showTrouble(error) {
  const code = error instanceof Refused ? error.code : error instanceof StoreTrouble ? `store_${error.reason}` : "server";
  if (code === "server") console.error(error);
  const words = element("trouble-words");
  const known = document.querySelector(`template[data-trouble="${code}"]`) ?? document.querySelector('template[data-trouble="server"]');
  words.replaceChildren(known instanceof HTMLTemplateElement ? known.content.cloneNode(true) : "");
  show("trouble");
}

/**
 * Gets the plan onto this phone and opens a page of it.
 * @param {() => Promise<import("../parts/log_store.js").LogStore>} getStore @param {string} page
 */
export async function bringPlan(getStore, page) {
  show("progress");
  try {
    const db = await getStore();
    const wanted = (await getMeta(db, "current_pack")) ?? (await getMeta(db, "pending_pack"));
    await fetchPlan(db, wanted.pack_id, showProgress);
    if (!(await getMeta(db, "current_pack"))) await makeCurrent(db, wanted);
    location.replace(root(db.handle) + page);
  } catch (error) {
    showTrouble(error);
  }
}

/** Has the form of the ten characters offer what was typed. @param {(typed: string) => void} offer */
export function takeTyped(offer) {
  element("typed-form").addEventListener("submit", (event) => {
    event.preventDefault();
    const field = element("typed");
    if (field instanceof HTMLInputElement && field.value.trim()) offer(field.value);
  });
}
