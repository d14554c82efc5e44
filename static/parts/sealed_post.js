// What this phone says to the clinic's server: sealed with its own key, never by a cookie.

import { getMeta, setMeta } from "./log_store.js";
import { root } from "./place.js";
import { seal, sealIsRight } from "./sealing.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */

export const SEAL_HEADER = "Wattlebird-Seal";
const WAIT_MS = 30_000;

/** @param {LogStore} db @param {string} url @param {import("./sealing.js").Purpose} purpose @param {object} content */
async function post(db, url, purpose, content) {
  const body = new TextEncoder().encode(JSON.stringify(content));
  const key = await getMeta(db, "root_key");
  return fetch(url, {
    method: "POST", body, cache: "no-store", redirect: "error", signal: AbortSignal.timeout(WAIT_MS),
    headers: { "Content-Type": "application/json", [SEAL_HEADER]: await seal(key, purpose, body) },
  });
}

/**
 * Posts a sync and gives the answer only if the server sealed it; null for anything else, which means *unknown*.
 * @param {LogStore} db @param {object} content @returns {Promise<any>}
 */
export async function postSync(db, content) {
  try {
    const response = await post(db, "/exchange/sync", "sync", content);
    const body = new Uint8Array(await response.arrayBuffer());
    if (response.status === 401) await noteDisowned(db, body);
    const given = response.headers.get(SEAL_HEADER) ?? "";
    const right = response.ok && (await sealIsRight(await getMeta(db, "root_key"), "receipt", body, given));
    return right ? JSON.parse(new TextDecoder().decode(body)) : null;
  } catch (error) {
    if (error instanceof TypeError || error instanceof DOMException) return null; // no network, cut off, too slow
    throw error;
  }
}

/**
 * Notes that the clinic's server has no such phone: a backup from before it was let in was put back. The answer is
 * sealed by nobody, so it changes nothing but what is said. @param {LogStore} db @param {Uint8Array} body
 */
async function noteDisowned(db, body) {
  if (new TextDecoder().decode(body).includes('"device_unknown"')) await setMeta(db, "disowned_ms", Date.now());
}

/** Gets a new cookie for pack files; false where the server did not give one. @param {LogStore} db */
export async function renewCookie(db) {
  const content = { for: "cookie", device: await getMeta(db, "device"), sent_ms: Date.now() };
  const response = await post(db, `${root(db.handle)}cookie`, "cookie", content).catch(() => null);
  if (!response?.ok) return false;
  await setMeta(db, "cookie_renewed_at", Date.now());
  return true;
}

/** Asks for the single-use token of a home-screen app that starts with a store of its own. @param {LogStore} db */
export async function askForRejoinToken(db) {
  const content = { for: "rejoin", device: await getMeta(db, "device"), sent_ms: Date.now() };
  const response = await post(db, `${root(db.handle)}rejoin-token`, "cookie", content).catch(() => null);
  return Boolean(response?.ok);
}

/**
 * Asks where the sound of a session is; null where no answer came. @param {LogStore} db @param {object} asked
 * @returns {Promise<any>}
 */
export async function askForSound(db, asked) {
  const content = { for: "listen", device: await getMeta(db, "device"), sent_ms: Date.now(), ...asked };
  const response = await post(db, `${root(db.handle)}listen`, "cookie", content).catch(() => null);
  return response?.ok ? response.json() : null;
}
