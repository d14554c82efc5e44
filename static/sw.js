// The phone's worker: keeps packs whole or not at all and answers under /my/ from them. It imports nothing, is the same
// for every phone, and takes over only when it is told to. The server fills in the two texts below.

/* global self, caches, clients, location */
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const RELEASE = "RELEASE";
/** Address → SHA-256 of what this worker keeps of its own: the pages outside packs and what they need. */
const SHELL = /** @type {Record<string, string>} */ (/** @type {unknown} */ ("SHELL"));
const SHELL_CACHE = `wattlebird-shell-${RELEASE}`;
const OURS = /^\/my\/([a-z2-7]{16})\/(next\/)?(.*)$/;
const PACK_CACHE = /^wattlebird-pack-([a-z2-7]{16})-([0-9a-f]{32})$/;
const FOR_THE_SERVER = /^(pack\/|rejoin\.webmanifest$)/;
const LANES = 6;

/** @typedef {{sha256?: string, type?: string, bytes?: number}} Expected */
/** @typedef {{current: string, pending: string, draft: boolean}} PhoneState */

/** Something that must not be kept: `reason` is told to the page. */
class Unfit extends Error {
  /** @param {"refused" | "network" | "not_ours" | "full"} reason @param {string} what */
  constructor(reason, what) {
    super(`${reason}: ${what}`);
    this.reason = reason;
  }
}

/** @param {BufferSource} bytes */
async function sha256(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @param {string} type */
const plainType = (type) => type.toLowerCase().replaceAll(" ", "");

/**
 * Fetches a file and gives it only if it is what was meant: a sign-in page of the network in between never is.
 * All headers are kept: a page without its security policy would run what the policy forbids.
 * @param {string} url @param {Expected} expected
 */
async function fetchChecked(url, expected) {
  const response = await fetch(url, { cache: "no-store", credentials: "same-origin", redirect: "error" })
    .catch(() => { throw new Unfit("network", url); });
  if (response.status === 401 || response.status === 403) throw new Unfit("refused", url);
  if (!response.ok || response.redirected || response.type !== "basic") throw new Unfit("network", url);
  const type = response.headers.get("Content-Type") ?? "";
  if (expected.type && plainType(type) !== plainType(expected.type)) throw new Unfit("not_ours", url);
  const body = await response.arrayBuffer().catch(() => { throw new Unfit("network", url); });
  if (body.byteLength < (expected.bytes ?? 0)) throw new Unfit("network", url); // cut short
  if (expected.sha256 && (await sha256(body)) !== expected.sha256) throw new Unfit("not_ours", url);
  const headers = new Headers(response.headers);
  for (const name of ["Set-Cookie", "Content-Encoding"]) headers.delete(name);
  headers.set("Content-Length", String(body.byteLength));
  return new Response(body, { status: 200, headers });
}

/** @param {Cache} cache @param {string} url @param {Response} response */
async function put(cache, url, response) {
  await cache.put(url, response).catch((error) => {
    throw new Unfit(error?.name === "QuotaExceededError" ? "full" : "network", url);
  });
}

async function keepShell() {
  const cache = await caches.open(SHELL_CACHE);
  try {
    await Promise.all(Object.entries(SHELL).map(async ([url, hash]) => put(cache, url, await fetchChecked(url, { sha256: hash }))));
  } catch (error) {
    await caches.delete(SHELL_CACHE);
    throw error;
  }
}

async function takeOver() {
  const old = (await caches.keys()).filter((name) => name.startsWith("wattlebird-shell-") && name !== SHELL_CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
  await worker.clients.claim();
}

// --- What the phone's own database says -------------------------------------------------------------------------

/**
 * Reads which packs a handle uses; null where this phone has no store for it (asking must not make one).
 * @param {string} handle @returns {Promise<PhoneState | null>}
 */
function readPhone(handle) {
  return new Promise((resolve) => {
    const opening = indexedDB.open(`wattlebird-${handle}`);
    opening.onupgradeneeded = () => opening.transaction?.abort();
    opening.onerror = () => resolve(null);
    opening.onsuccess = () => readState(opening.result).then(resolve, () => resolve(null));
  });
}

/** @param {IDBDatabase} db @returns {Promise<PhoneState>} */
function readState(db) {
  return new Promise((resolve, reject) => {
    const reading = db.transaction(["meta", "draft"]);
    const [current, pending] = ["current_pack", "pending_pack"].map((name) => reading.objectStore("meta").get(name));
    const drafts = reading.objectStore("draft").count();
    reading.oncomplete = () => {
      db.close();
      resolve({ current: current?.result?.value?.pack_id ?? "", pending: pending?.result?.value?.pack_id ?? "", draft: drafts.result > 0 });
    };
    reading.onabort = () => reject(reading.error);
  });
}

// --- Keeping a pack ---------------------------------------------------------------------------------------------

/** @param {string} handle @param {string} packId */
const cacheName = (handle, packId) => `wattlebird-pack-${handle}-${packId}`;

/** @param {string} handle @param {string} packId */
const packBase = (handle, packId) => `/my/${handle}/pack/${packId}/`;

/** A pack's manifest is kept last: where it is, the pack is whole. @param {string} handle @param {string} packId */
async function wholeManifest(handle, packId) {
  const kept = await caches.match(`${packBase(handle, packId)}manifest.json`, { cacheName: cacheName(handle, packId), ignoreVary: true });
  return kept ? kept.json() : null;
}

/** @param {any} value @returns {string} */
function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  return `{${Object.keys(value).sort().map((key) => `${JSON.stringify(key)}:${canonical(value[key])}`).join(",")}}`;
}

/** @param {any} manifest @param {string} packId */
async function isManifestOf(manifest, packId) {
  const { pack_id: said, ...rest } = manifest;
  return said === packId && (await sha256(new TextEncoder().encode(canonical(rest)))).startsWith(packId);
}

/** Drops the packs of a handle that it no longer uses. @param {string} handle @param {string} keep */
async function sweep(handle, keep) {
  const phone = await readPhone(handle);
  if (!phone) return;
  for (const name of await caches.keys()) {
    const [, owner, packId = ""] = PACK_CACHE.exec(name) ?? [];
    if (owner === handle && ![phone.current, phone.pending, keep].includes(packId)) await caches.delete(name);
  }
}

/**
 * Gives what this handle's other whole packs of the same release already hold, by hash: it need not be fetched again.
 * @param {string} handle @param {string} packId @param {string} release
 */
async function alreadyKept(handle, packId, release) {
  /** @type {Map<string, {cacheName: string, url: string}>} */
  const kept = new Map();
  for (const name of await caches.keys()) {
    const [, owner, other = ""] = PACK_CACHE.exec(name) ?? [];
    const manifest = owner === handle && other !== packId ? await wholeManifest(handle, other) : null;
    if (manifest?.release !== release) continue;
    for (const [path, file] of Object.entries(manifest.files)) {
      kept.set(file.sha256, { cacheName: name, url: packBase(handle, other) + path });
    }
  }
  return kept;
}

/** @param {string} url @param {{sha256: string, type: string, bytes: number}} file @param {{cacheName: string, url: string} | undefined} before */
async function fileOfPack(url, file, before) {
  const kept = before && (await caches.match(before.url, { cacheName: before.cacheName, ignoreVary: true }));
  return kept && plainType(kept.headers.get("Content-Type") ?? "") === plainType(file.type) ? kept : fetchChecked(url, file);
}

/**
 * Does one piece after the other in a few lanes; the first failure lets the pieces under way end and starts no more.
 * @template T @param {T[]} pieces @param {(piece: T) => Promise<void>} work
 */
async function inLanes(pieces, work) {
  const lane = async () => {
    try {
      for (let piece = pieces.pop(); piece; piece = pieces.pop()) await work(piece);
    } catch (error) {
      pieces.length = 0;
      throw error;
    }
  };
  const ended = await Promise.allSettled(Array.from({ length: LANES }, lane));
  const failed = ended.find((one) => one.status === "rejected");
  if (failed) throw failed.reason;
}

/**
 * Stores a pack: every file checked, the manifest last. What a broken-off try had stored is not fetched again.
 * @param {string} handle @param {string} packId @param {(done: number, of: number) => void} progress
 */
async function storePack(handle, packId, progress) {
  if (await wholeManifest(handle, packId)) return;
  await sweep(handle, packId);
  const base = packBase(handle, packId);
  const listed = await fetchChecked(`${base}manifest.json`, { type: "application/json; charset=utf-8" });
  const manifest = await listed.clone().json();
  if (!(await isManifestOf(manifest, packId))) throw new Unfit("not_ours", "manifest.json");
  const cache = await caches.open(cacheName(handle, packId));
  const stored = new Set((await cache.keys()).map((request) => new URL(request.url).pathname));
  const elsewhere = await alreadyKept(handle, packId, manifest.release);
  const files = /** @type {[string, {sha256: string, type: string, bytes: number}][]} */ (Object.entries(manifest.files));
  const missing = files.filter(([path]) => !stored.has(base + path));
  let done = files.length - missing.length;
  /** @param {[string, {sha256: string, type: string, bytes: number}]} file */
  const keep = async ([path, file]) => {
    await put(cache, base + path, await fileOfPack(base + path, file, elsewhere.get(file.sha256)));
    progress((done += 1), files.length);
  };
  progress(done, files.length);
  await inLanes(missing, keep);
  await put(cache, `${base}manifest.json`, listed);
}

// --- Answering --------------------------------------------------------------------------------------------------

/** Which pack each open page came from: its modules come from the same one. @type {Map<string, {packId: string, pending: boolean}>} */
const packOfClient = new Map();

/** @param {FetchEvent} event @param {string} handle @param {boolean} pending */
async function packFor(event, handle, pending) {
  const pinned = packOfClient.get(event.clientId);
  if (pinned?.pending === pending && event.request.mode !== "navigate") return pinned.packId;
  const phone = await readPhone(handle);
  const packId = (pending ? phone?.pending : phone?.current) ?? "";
  if (packId && event.resultingClientId) packOfClient.set(event.resultingClientId, { packId, pending });
  return packId;
}

/** Answers a byte range, as sound elements ask for. @param {Request} request @param {Response} whole */
async function ranged(request, whole) {
  const asked = /^bytes=(\d+)-(\d*)$/.exec(request.headers.get("Range") ?? "");
  if (!asked) return whole;
  const body = await whole.arrayBuffer();
  const first = Number(asked[1]);
  const last = asked[2] ? Math.min(Number(asked[2]), body.byteLength - 1) : body.byteLength - 1;
  const headers = new Headers(whole.headers);
  if (first > last) return new Response(null, { status: 416, headers: { "Content-Range": `bytes */${body.byteLength}` } });
  headers.set("Content-Range", `bytes ${first}-${last}/${body.byteLength}`);
  headers.set("Content-Length", String(last - first + 1));
  headers.set("Accept-Ranges", "bytes");
  return new Response(body.slice(first, last + 1), { status: 206, headers });
}

/** @param {string} address @param {number} status */
async function shellPage(address, status) {
  const kept = await caches.match(address, { cacheName: SHELL_CACHE, ignoreVary: true });
  return kept ? new Response(kept.body, { status, headers: kept.headers }) : new Response(null, { status: 504 });
}

/** @param {Request} request */
const isPage = (request) => request.mode === "navigate";

/** @param {Request} request */
async function fromServer(request) {
  return fetch(request).catch(() => (isPage(request) ? shellPage("/my/open-again", 503) : new Response(null, { status: 504 })));
}

/** @param {FetchEvent} event @param {string} handle @param {boolean} pending @param {string} path */
async function answer(event, handle, pending, path) {
  const packId = await packFor(event, handle, pending);
  if (!packId) return fromServer(event.request);
  const kept = await caches.match(packBase(handle, packId) + path, { cacheName: cacheName(handle, packId), ignoreVary: true });
  if (kept) return ranged(event.request, kept);
  if (!(await wholeManifest(handle, packId))) return fromServer(event.request);
  return isPage(event.request) ? shellPage("/my/not-found", 404) : new Response(null, { status: 404 });
}

worker.addEventListener("fetch", (event) => {
  const { origin, pathname } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== location.origin) return;
  if (pathname in SHELL) {
    event.respondWith(shellPage(pathname, 200).then((kept) => (kept.status === 200 ? kept : fetch(event.request))));
    return;
  }
  const [, handle, next, path = ""] = OURS.exec(pathname) ?? [];
  if (!handle || FOR_THE_SERVER.test(path)) return;
  event.respondWith(path === "open-again" ? shellPage("/my/open-again", 200) : answer(event, handle, Boolean(next), path || "today"));
});

// --- What pages ask for -----------------------------------------------------------------------------------------

/** @param {MessagePort} port @param {{handle: string, pack_id: string}} asked */
async function answerStore(port, asked) {
  try {
    await storePack(asked.handle, asked.pack_id, (done, of) => port.postMessage({ type: "progress", done, of }));
    port.postMessage({ type: "stored" });
  } catch (error) {
    port.postMessage({ type: "failed", reason: error instanceof Unfit ? error.reason : "network" });
  }
}

/** Takes over from the worker before this one, unless a session runs on this phone. @param {MessagePort} port */
async function answerTakeOver(port) {
  const handles = new Set((await caches.keys()).map((name) => PACK_CACHE.exec(name)?.[1] ?? "").filter(Boolean));
  const phones = await Promise.all(Array.from(handles, readPhone));
  const refused = phones.some((phone) => phone?.draft);
  port.postMessage({ type: refused ? "refused" : "taken" });
  if (!refused) await worker.skipWaiting();
}

worker.addEventListener("message", (event) => {
  const [port] = event.ports;
  const asked = event.data ?? {};
  if (!port) return;
  if (asked.type === "store-pack") event.waitUntil(answerStore(port, asked));
  if (asked.type === "have-pack") {
    event.waitUntil(wholeManifest(asked.handle, asked.pack_id).then((found) => port.postMessage({ type: "have", whole: found !== null })));
  }
  if (asked.type === "take-over") event.waitUntil(answerTakeOver(port));
});

worker.addEventListener("install", (event) => event.waitUntil(keepShell()));
worker.addEventListener("activate", (event) => event.waitUntil(takeOver()));
