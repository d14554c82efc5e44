// Lets this phone in: activation, a store for its log, the worker, the whole plan.

import { getMeta, openStore, setMetas } from "./log_store.js";
import { carryLogOver } from "./moving_log.js";
import { storePack } from "./pack_keeper.js";
import { openDatabase, StoreTrouble } from "./phone_database.js";
import { rootKey, toHex } from "./sealing.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/** @typedef {{token?: string, typed?: string, rejoin?: string}} Offer */

const REMEMBERED = "wattlebird-joined-";
const ASKED = "wattlebird-asked-";
const WAIT_MS = 30_000;

/** A refusal of the server, by its code; `no_answer` where it could not be reached. */
export class Refused extends Error {
  /** @param {string} code */
  constructor(code) {
    super(code);
    this.code = code;
  }
}

/** Tells whether this browser can keep a plan at all. */
export function canKeepPlans() {
  return "serviceWorker" in navigator && "indexedDB" in globalThis && Boolean(globalThis.crypto?.subtle);
}

function kindOfPhone() {
  const installed = matchMedia("(display-mode: standalone)").matches ? "home screen, " : "";
  const system = /Android|iPhone|iPad|Windows|Mac OS X|Linux/.exec(navigator.userAgent)?.[0] ?? "";
  return `${installed}${system}`.slice(0, 40);
}

/** @param {Offer} offer */
async function nameOf({ token = "", typed = "", rejoin = "" }) {
  const text = new TextEncoder().encode([token, typed, ...(rejoin ? [rejoin] : [])].join(" "));
  return toHex(new Uint8Array(await crypto.subtle.digest("SHA-256", text)));
}

/** Opens the store of a handle; null where this phone has none. @param {string} handle */
async function storeOf(handle) {
  return openStore(handle).catch((error) => {
    if (error instanceof StoreTrouble && error.reason === "empty") return null;
    throw error;
  });
}

/**
 * Gives the store that this phone already has by the same link: scanned again, it opens, and is no new phone. One that
 * the clinic has no phone for any more does not count: that one is let in anew. @param {Offer} offer
 */
export async function joinedBefore(offer) {
  const handle = localStorage.getItem(REMEMBERED + (await nameOf(offer)));
  const store = handle ? await storeOf(handle) : null;
  return store && (await getMeta(store, "disowned_ms")) ? null : store;
}

/** The stores of this phone, as far as it knows of them. */
async function storesHere() {
  const handles = Object.keys(localStorage).filter((key) => key.startsWith(REMEMBERED)).map((key) => localStorage.getItem(key) ?? "");
  return (await Promise.all([...new Set(handles)].map(storeOf))).filter((store) => store !== null);
}

/**
 * Asks to be let in. An answer that was lost uses nothing up: the same request gets the same device until it is heard.
 * @param {Offer} offer @param {string} was  the handle that this phone had before its store was gone
 * @returns {Promise<any>}
 */
async function activate(offer, was) {
  const asked = ASKED + (await nameOf(offer));
  const request = localStorage.getItem(asked) ?? toHex(crypto.getRandomValues(new Uint8Array(16)));
  localStorage.setItem(asked, request);
  const response = await fetch("/join/activate", {
    method: "POST", cache: "no-store", redirect: "error", signal: AbortSignal.timeout(WAIT_MS),
    headers: { "Content-Type": "application/json" }, body: JSON.stringify({ ...offer, request, was, kind: kindOfPhone() }),
  }).catch(() => { throw new Refused("no_answer"); });
  const answer = await response.json().catch(() => { throw new Refused("no_answer"); });
  if (response.ok) return answer;
  localStorage.removeItem(asked);
  throw new Refused(answer.error ?? "server");
}

/** @param {string} text */
const fromBase64 = (text) => Uint8Array.from(atob(text), (character) => character.charCodeAt(0));

/** @param {any} answer @returns {Promise<LogStore>} */
async function makeStore(answer) {
  const db = await openDatabase(answer.handle, true);
  if ((await getMeta(db, "device")) === answer.device) return db; // it was made, and the page closed before its end
  await setMetas(db, {
    device: answer.device, handle: answer.handle, first_name: answer.first_name, code: answer.code,
    root_key: await rootKey(fromBase64(answer.device_key)), store: toHex(crypto.getRandomValues(new Uint8Array(8))),
    store_epoch: answer.store_epoch, next_seq: 1, cookie_renewed_at: Date.now(),
    pending_pack: { pack_id: answer.pack_id, version: answer.version },
  });
  return db;
}

/**
 * Activates and makes this phone's store for it; the log of a device that the clinic does not know any more goes with it.
 * @param {Offer} offer @param {string} [handle]  of the address, where this phone has no store for it
 * @returns {Promise<LogStore>}
 */
export async function join(offer, handle = "") {
  const name = await nameOf(offer);
  const known = localStorage.getItem(REMEMBERED + name) ?? "";
  const db = await makeStore(await activate(offer, handle || known));
  await carryLogOver(await storesHere(), db);
  localStorage.setItem(REMEMBERED + name, db.handle);
  localStorage.removeItem(ASKED + name);
  return db;
}

/** Fetches the plan that this phone was let in for. @param {LogStore} db @param {string} packId @param {import("./pack_keeper.js").OnProgress} onProgress */
export async function fetchPlan(db, packId, onProgress) {
  const outcome = await storePack(db, packId, onProgress);
  if (outcome !== "stored") throw new Refused(outcome === "refused" ? "device_revoked" : outcome);
}
