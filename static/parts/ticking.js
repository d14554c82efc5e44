/**
 * Calls a function four times a second: from a worker, whose timer is not slowed down in a hidden page; from the page where there is none.
 * @param {() => void} run
 * @returns {() => void} stops it
 */
export function startTicking(run) {
  /** @type {ReturnType<typeof setInterval> | undefined} */
  let plain;
  const fallBack = () => {
    plain ??= setInterval(run, 250);
  };
  /** @type {Worker | null} */
  let worker = null;
  try {
    worker = new Worker(new URL("./tick.js", import.meta.url));
    worker.onmessage = run;
    worker.onerror = fallBack;
  } catch {
    fallBack();
  }
  return () => {
    worker?.terminate();
    if (worker) worker.onmessage = null;
    clearInterval(plain);
    plain = undefined;
  };
}
