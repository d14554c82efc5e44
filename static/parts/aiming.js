/** What to tell a person who holds a phone before the camera. */

/** @typedef {import("./code_reader.js").Found} Found */
/** @typedef {"show" | "closer" | "further" | "still" | "light" | "read"} Aim */

const LEAST_PIXELS = 3.2; // of the camera for each module: below it reading fails in fair light (measured, simulated)
const EDGE_SHARE = 0.01; // a corner this near the edge of the picture: part of the code lies outside
const SMALL_SHARE = 0.35; // of the picture's height, where the modules could not be counted
const DARK = 40; // of 255, the brightest part of the picture
const KEEPS_MS = 700; // a word stays this long, so that it can be read

/** @param {Found} found */
function side(found) {
  const [a, b, , d] = found.corners;
  if (!a || !b || !d) return 0;
  return Math.min(Math.hypot(a.x - b.x, a.y - b.y), Math.hypot(a.x - d.x, a.y - d.y));
}

/** @param {Found} found @param {number} width @param {number} height */
function isCut(found, width, height) {
  const edge = EDGE_SHARE * height;
  return found.corners.some(({ x, y }) => x < edge || y < edge || x > width - edge || y > height - edge);
}

/**
 * Says what one look asks for.
 * @param {Found | null} found @param {boolean} isRead @param {number} width @param {number} height @param {number} brightest
 * @returns {Aim}
 */
export function aimOf(found, isRead, width, height, brightest = 255) {
  if (isRead) return "read";
  if (!found) return brightest < DARK ? "light" : "show";
  if (isCut(found, width, height)) return "further";
  const pixels = found.modules ? side(found) / found.modules : 0;
  if (pixels ? pixels < LEAST_PIXELS : side(found) < SMALL_SHARE * height) return "closer";
  return "still";
}

/** Keeps a word long enough to be read; what was read is said at once. */
export class SteadyAim {
  /** @type {Aim} */
  said = "show";
  #sinceMs = -Infinity;

  /** @param {Aim} aim @param {number} nowMs */
  hear(aim, nowMs) {
    const isNews = aim === "read" || nowMs - this.#sinceMs > KEEPS_MS;
    if (isNews) this.#sinceMs = nowMs;
    if (isNews) this.said = aim;
    return this.said;
  }
}

/**
 * Gives the brightest value of a picture, looked at in part.
 * @param {ImageData} image
 */
export function brightestOf({ data }) {
  let most = 0;
  for (let at = 0; at < data.length; at += 4 * 7) most = Math.max(most, data[at + 1] ?? 0);
  return most;
}
