/** Minutes as a person counts them: to the nearest one; a few seconds are not "0 minutes". Pure. */

const LEAST_S = 30;

/**
 * @param {import("./strings.js").T} say
 * @param {number} seconds
 */
export function minutesDone(say, seconds) {
  return seconds < LEAST_S ? say("phone.minutes_less") : say("phone.minutes", { n: Math.round(seconds / 60) });
}
