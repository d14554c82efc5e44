// The way out: if a worker ever goes wrong on phones, this one takes its place (setting phone_worker = false). It answers
// no page, so that each comes from the server again, and touches neither the log nor the plans that are kept.

/* global self */
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

async function takeOver() {
  await worker.clients.claim();
  // not waited for: a page loads only once its worker is in charge, and the worker is not before this has ended
  for (const window of await worker.clients.matchAll({ type: "window" })) window.navigate(window.url).catch(() => null);
}

worker.addEventListener("install", (event) => event.waitUntil(worker.skipWaiting()));
worker.addEventListener("activate", (event) => event.waitUntil(takeOver()));
// whoever asks it to keep a plan hears at once that it does not
worker.addEventListener("message", (event) => event.ports[0]?.postMessage({ type: "failed", reason: "network" }));
