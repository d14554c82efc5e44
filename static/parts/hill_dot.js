/** Where the dot stands on the hill. Pure. */

/**
 * The place in the cycle at a session time; before the first rise it is the end of the rest.
 * @param {number} positionMs
 * @param {number} firstRiseMs
 * @param {number} cycleMs
 */
export function cyclePlace(positionMs, firstRiseMs, cycleMs) {
  const since = positionMs - firstRiseMs;
  return ((since % cycleMs) + cycleMs) % cycleMs;
}

/**
 * The height of the hill at a place in the cycle.
 * @param {number[][]} hill  [ms, per mille], by ms
 * @param {number} atMs
 * @returns {number}  per mille
 */
export function heightAt(hill, atMs) {
  for (let n = 1; n < hill.length; n += 1) {
    const [fromMs = 0, from = 0] = hill[n - 1] ?? [];
    const [toMs = 0, to = 0] = hill[n] ?? [];
    if (atMs > toMs || toMs === fromMs) continue;
    return from + ((to - from) * (atMs - fromMs)) / (toMs - fromMs);
  }
  return hill.at(-1)?.[1] ?? 0;
}
