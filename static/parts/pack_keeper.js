// Talks to the phone's worker: starts it, has it store a pack, asks whether one is whole.

import { renewCookie } from "./sealed_post.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/** @typedef {(progress: {done: number, of: number}) => void} OnProgress */
/** @typedef {"stored" | "refused" | "network" | "not_ours" | "full"} Outcome */

const TRIES = 4;
const QUIET_MS = 45_000; // a browser may end a worker in mid-download: then it is asked again and goes on from there
const TAKING_OVER_MS = 2_000;

/** Registers the worker and waits until it is there. @returns {Promise<ServiceWorkerRegistration>} */
export async function startWorker() {
  const registration = await navigator.serviceWorker.register("/sw.js", { scope: "/my/", updateViaCache: "none" });
  const starting = registration.active ? null : registration.installing ?? registration.waiting;
  if (starting) await settled(starting);
  return registration;
}

/** @param {ServiceWorker} starting @returns {Promise<void>} */
function settled(starting) {
  return new Promise((resolve, reject) => {
    const look = () => {
      if (starting.state === "activated") resolve();
      if (starting.state === "redundant") reject(new Error("the worker could not be installed"));
    };
    starting.addEventListener("statechange", look);
    look();
  });
}

/**
 * Sends one question; `heard` gives the answer out of a message, or undefined while there is none yet.
 * @template T @param {ServiceWorker | null} worker @param {object} question @param {(message: any) => T | undefined} heard @param {T} silence
 * @returns {Promise<T>}
 */
function ask(worker, question, heard, silence) {
  if (!worker) return Promise.resolve(silence);
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    let timer = setTimeout(() => resolve(silence), QUIET_MS);
    port1.onmessage = (event) => {
      clearTimeout(timer);
      const answer = heard(event.data);
      if (answer === undefined) timer = setTimeout(() => resolve(silence), QUIET_MS);
      else resolve(answer);
    };
    worker.postMessage(question, [port2]);
  });
}

/** @param {ServiceWorkerRegistration} registration @param {string} handle @param {string} packId @param {OnProgress} onProgress */
function askToStore(registration, handle, packId, onProgress) {
  return ask(registration.active, { type: "store-pack", handle, pack_id: packId }, (message) => {
    if (message.type === "progress") onProgress(message);
    if (message.type === "stored") return /** @type {Outcome} */ ("stored");
    return message.type === "failed" ? /** @type {Outcome} */ (message.reason) : undefined;
  }, /** @type {Outcome} */ ("network"));
}

/**
 * Stores a pack whole; a refused cookie is renewed once, a broken network is tried again.
 * @param {LogStore} db @param {string} packId @param {OnProgress} onProgress @returns {Promise<Outcome>}
 */
export async function storePack(db, packId, onProgress) {
  const registration = await startWorker();
  /** @type {Outcome} */
  let outcome = "network";
  for (let n = 0; n < TRIES && (outcome === "network" || outcome === "refused"); n += 1) {
    if (outcome === "refused" && !(await renewCookie(db))) return outcome;
    outcome = await askToStore(registration, db.handle, packId, onProgress);
  }
  return outcome;
}

/** Tells whether this phone holds a pack whole. @param {string} handle @param {string} packId */
export async function havePack(handle, packId) {
  const registration = await startWorker();
  return ask(registration.active, { type: "have-pack", handle, pack_id: packId }, (message) => Boolean(message.whole), false);
}

/**
 * Lets a waiting worker take over; it refuses while a session runs on this phone. Comes back when it has taken over, or
 * soon: a fetch before that wakes the old worker up, and the new one waits until that one is idle again.
 */
export async function letNewWorkerTakeOver() {
  const waiting = (await navigator.serviceWorker.getRegistration("/my/"))?.waiting;
  if (!waiting) return "none";
  const answer = await ask(waiting, { type: "take-over" }, (message) => String(message.type), "none");
  const patience = new Promise((resolve) => { setTimeout(resolve, TAKING_OVER_MS); });
  if (answer === "taken") await Promise.race([settled(waiting), patience]);
  return answer;
}
