/** The screen that stays on, and the phone that shakes: both where the phone can. */

/** @type {Record<string, number[]>} one short sign a phase, told apart by length and number */
const PATTERNS = {
  ready: [60],
  rise: [250],
  hold: [90, 90, 90],
  ease: [90],
  rest: [500],
  halfway: [60, 90, 60],
  one_minute: [60, 90, 60],
  finished: [400, 200, 400],
};

/**
 * Shakes the phone for a phase; does nothing where it cannot.
 * @param {string} phase
 */
export function vibrate(phase) {
  const pattern = PATTERNS[phase];
  if (pattern && typeof navigator.vibrate === "function") navigator.vibrate(pattern);
}

/**
 * Keeps the screen on until released. The lock is lost whenever the page is hidden, so it is taken again on return.
 * @param {(why: "absent" | "refused") => void} onRefused
 */
export function keepAwake(onRefused) {
  /** @type {WakeLockSentinel | null} */
  let lock = null;
  let wanted = true;

  async function take() {
    if (!wanted || document.visibilityState !== "visible" || (lock && !lock.released)) return;
    if (!("wakeLock" in navigator)) {
      onRefused("absent");
      return;
    }
    try {
      lock = await navigator.wakeLock.request("screen");
      if (!wanted) await lock.release();
    } catch {
      if (wanted) onRefused("refused");
    }
  }

  document.addEventListener("visibilitychange", take);
  void take();
  return {
    release() {
      wanted = false;
      document.removeEventListener("visibilitychange", take);
      void lock?.release();
    },
  };
}
