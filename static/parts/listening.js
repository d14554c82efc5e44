/** The sounds of whole sessions on this phone: fetched in pieces that stay, checked, kept until the plan or the choice changes. */
import { getMeta, setMeta } from "./log_store.js";
import { root } from "./place.js";
import { askForSound, renewCookie } from "./sealed_post.js";

/**
 * @typedef {import("./log_store.js").LogStore} LogStore
 * @typedef {import("./choices.js").Choices} Choices
 * @typedef {{exercise: number, session_s: number}} Session
 * @typedef {{pack_id: string, voice: string, said: string, files: Record<string, string>}} Kept session → hash of its sound
 * @typedef {"making" | "loading"} Doing
 * @typedef {(doing: Doing, done: number, of: number) => void} OnProgress
 * @typedef {"ready" | "network" | "gone" | "failed" | "full" | "not_ours"} Outcome
 */

const PIECE = 262_144;
const ASK_AGAIN_MS = 1500;
const cacheName = (/** @type {string} */ handle) => `wattlebird-listen-${handle}`;
const sessionName = (/** @type {Session} */ { exercise, session_s }) => `${exercise}-${session_s}`;
const address = (/** @type {string} */ handle, /** @type {string} */ sha256) => `${root(handle)}listen/${sha256}.mp3`;

/**
 * The sessions that a plan still asks for, each length once. Pure.
 * @param {Record<string, {exercise: number, session_s: number}[]>} days
 * @param {string} today
 * @returns {Session[]}
 */
export function sessionsAhead(days, today) {
  const ahead = Object.keys(days).filter((day) => day >= today).sort().flatMap((day) => days[day]);
  return [...new Map(ahead.map(({ exercise, session_s }) => [`${exercise}-${session_s}`, { exercise, session_s }])).values()];
}

/**
 * What of some sessions is on this phone, for this plan and this choice.
 * @param {LogStore} db
 * @param {Choices} choices
 * @returns {Promise<Kept>}
 */
async function kept(db, { voice, said }) {
  const pack = await getMeta(db, "current_pack");
  const found = /** @type {Kept | null} */ (await getMeta(db, "listen"));
  const fits = found && found.pack_id === pack?.pack_id && found.voice === voice && found.said === said;
  return fits ? found : { pack_id: pack?.pack_id ?? "", voice, said, files: {} };
}

/**
 * Gives the sound of a session as the media element wants it, or null where this phone has none.
 * @param {LogStore} db
 * @param {Choices} choices
 * @param {Session} session
 * @returns {Promise<string | null>}
 */
export async function soundAddress(db, choices, session) {
  const sha256 = (await kept(db, choices)).files[sessionName(session)];
  const found = sha256 && (await caches.match(address(db.handle, sha256), { cacheName: cacheName(db.handle) }));
  return found ? URL.createObjectURL(await found.blob()) : null;
}

/**
 * Tells whether all of some sessions are here.
 * @param {LogStore} db
 * @param {Choices} choices
 * @param {Session[]} sessions
 */
export async function allHere(db, choices, sessions) {
  const { files } = await kept(db, choices);
  return sessions.length > 0 && sessions.every((session) => sessionName(session) in files);
}

/**
 * Has the clinic make what is missing, and fetches it. What a broken-off try has fetched stays.
 * @param {LogStore} db
 * @param {Choices} choices
 * @param {Session[]} sessions
 * @param {OnProgress} onProgress
 * @returns {Promise<Outcome>}
 */
export async function fetchSounds(db, choices, sessions, onProgress) {
  const now = await kept(db, choices);
  for (const session of sessions.filter((each) => !(sessionName(each) in now.files))) {
    const ready = await made(db, now, session, onProgress);
    if (typeof ready === "string") return ready;
    const outcome = await fetchSound(db.handle, now.pack_id, ready, (done) => onProgress("loading", done, ready.bytes), () => renewCookie(db));
    if (outcome !== "ready") return outcome;
    now.files = { ...now.files, [sessionName(session)]: ready.sha256 };
    await setMeta(db, "listen", now);
  }
  await sweep(db.handle, new Set(Object.values(now.files)));
  return "ready";
}

/**
 * Asks until the sound is made.
 * @param {LogStore} db
 * @param {Kept} choice
 * @param {Session} session
 * @param {OnProgress} onProgress
 * @returns {Promise<{sha256: string, bytes: number} | Outcome>}
 */
async function made(db, { pack_id, voice, said }, session, onProgress) {
  for (;;) {
    const answer = await askForSound(db, { pack_id, voice, said, ...session });
    if (answer === null) return "network";
    if (answer.state === "ready") return answer;
    if (answer.state !== "making") return answer.state === "failed" ? "failed" : "gone";
    onProgress("making", answer.done, answer.of);
    await new Promise((resolve) => { setTimeout(resolve, ASK_AGAIN_MS); });
  }
}

/**
 * Fetches one sound, a piece at a time, and checks the whole.
 * @param {string} handle
 * @param {string} packId
 * @param {{sha256: string, bytes: number}} sound
 * @param {(done: number) => void} onProgress
 * @param {() => Promise<boolean>} renew  gets a new cookie where the old one is refused
 * @returns {Promise<Outcome>}
 */
async function fetchSound(handle, packId, { sha256, bytes }, onProgress, renew) {
  const cache = await caches.open(cacheName(handle));
  const pieces = [];
  try {
    for (let from = 0; from < bytes; from += PIECE) {
      const to = Math.min(from + PIECE, bytes);
      onProgress(from);
      pieces.push(await piece(cache, `${address(handle, sha256)}?from=${from}`, `${root(handle)}pack/${packId}/listen/${sha256}.mp3`, from, to, renew));
    }
    const whole = new Blob(pieces, { type: "audio/mpeg" });
    const right = (await hexHash(whole)) === sha256;
    if (right) await cache.put(address(handle, sha256), new Response(whole, { headers: { "Content-Type": "audio/mpeg" } }));
    for (const request of await cache.keys()) if (request.url.includes(`${sha256}.mp3?`)) await cache.delete(request);
    onProgress(bytes);
    return right ? "ready" : "not_ours";
  } catch (error) {
    return error instanceof DOMException && error.name === "QuotaExceededError" ? "full" : "network";
  }
}

/**
 * @param {Cache} cache @param {string} as @param {string} url @param {number} from @param {number} to @param {() => Promise<boolean>} renew
 * @returns {Promise<Blob>}
 */
async function piece(cache, as, url, from, to, renew) {
  const here = await cache.match(as);
  if (here) return here.blob();
  const ask = () => fetch(url, { cache: "no-store", redirect: "error", headers: { Range: `bytes=${from}-${to - 1}` } });
  let answer = await ask();
  if (answer.status === 401 && (await renew())) answer = await ask();
  const body = answer.status === 206 ? await answer.blob() : null;
  if (body?.size !== to - from) throw new TypeError(`${url}: ${answer.status}`);
  await cache.put(as, new Response(body));
  return body;
}

/** @param {Blob} blob */
async function hexHash(blob) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * Drops the sounds that belong to no session any more.
 * @param {string} handle
 * @param {Set<string>} keep
 */
async function sweep(handle, keep) {
  const cache = await caches.open(cacheName(handle));
  for (const request of await cache.keys()) {
    const sha256 = /([0-9a-f]{64})\.mp3/.exec(request.url)?.[1] ?? "";
    if (!keep.has(sha256)) await cache.delete(request);
  }
}
