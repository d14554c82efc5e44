/**
 * Makes the modules of a blurred, noisy code stand out: the grain is smoothed away, then what is finer than the
 * surroundings is strengthened. On simulated frames in poor light it reads where the plain picture is never read.
 */

/** @typedef {{grain: number, around: number, by: number}} Sharpness radii of the two means in pixels; how strongly */

/**
 * Takes the mean over a square round each pixel, edges repeated.
 * @param {Float32Array} from @param {number} width @param {number} height @param {number} radius
 */
function mean(from, width, height, radius) {
  return across(across(from, width, height, radius, 1, width), height, width, radius, width, 1);
}

/**
 * Takes the mean along lines.
 * @param {Float32Array} from @param {number} length @param {number} lines @param {number} radius
 * @param {number} step from one pixel of a line to the next @param {number} apart from one line to the next
 */
function across(from, length, lines, radius, step, apart) {
  const to = new Float32Array(from.length);
  const share = 1 / (2 * radius + 1);
  for (let line = 0; line < lines; line += 1) {
    const start = line * apart;
    const last = start + (length - 1) * step;
    let sum = 0;
    for (let n = -radius; n <= radius; n += 1) sum += from[Math.min(Math.max(start + n * step, start), last)] ?? 0;
    for (let at = start; at <= last; at += step) {
      to[at] = sum * share;
      sum += (from[Math.min(at + (radius + 1) * step, last)] ?? 0) - (from[Math.max(at - radius * step, start)] ?? 0);
    }
  }
  return to;
}

/**
 * Sharpens a picture in place, in grey.
 * @param {ImageData} image @param {Sharpness} how
 */
export function sharpen({ data, width, height }, { grain, around, by }) {
  const grey = new Float32Array(width * height);
  for (let n = 0; n < grey.length; n += 1) {
    grey[n] = 0.3 * (data[4 * n] ?? 0) + 0.6 * (data[4 * n + 1] ?? 0) + 0.1 * (data[4 * n + 2] ?? 0);
  }
  const fine = mean(grey, width, height, grain);
  const coarse = mean(mean(grey, width, height, around), width, height, around);
  for (let n = 0; n < grey.length; n += 1) {
    const value = (fine[n] ?? 0) * (1 + by) - by * (coarse[n] ?? 0);
    data[4 * n] = data[4 * n + 1] = data[4 * n + 2] = value; // clamped by the array itself
  }
}
