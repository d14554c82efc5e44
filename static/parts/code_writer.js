/** Draws one payload as a QR symbol: black on white, whole pixels a module, with its quiet zone. */
import { correction, generate, mode } from "../vendor/lean-qr.mjs";

/** Modules of white all round: ISO/IEC 18004, quiet zone of a QR code. */
export const QUIET = 4;

/** @typedef {{size: number, get: (x: number, y: number) => boolean}} Symbol */

/**
 * Makes the symbol of a payload, level L, alphanumeric: only a screen without dirt shows it, so more would only make it finer.
 * @param {string} payload
 * @param {number} version
 * @returns {Symbol}
 */
export function symbolOf(payload, version) {
  return generate(mode.alphaNumeric(payload), {
    minCorrectionLevel: correction.L, maxCorrectionLevel: correction.L, minVersion: version, maxVersion: version,
  });
}

/**
 * How many pixels of the screen a module gets: a whole number, so that every edge is sharp.
 * @param {number} size modules a side
 * @param {number} room_px pixels of the screen, not of the layout
 */
export function moduleSize(size, room_px) {
  return Math.max(1, Math.floor(room_px / (size + 2 * QUIET)));
}

/**
 * Draws a symbol as large as the room allows.
 * @param {HTMLCanvasElement} canvas
 * @param {Symbol} symbol
 * @param {number} room_px pixels of the layout
 * @param {number} ratio pixels of the screen to one of the layout
 */
export function drawSymbol(canvas, symbol, room_px, ratio) {
  const module = moduleSize(symbol.size, Math.floor(room_px * ratio));
  const side = module * (symbol.size + 2 * QUIET);
  canvas.width = canvas.height = side;
  canvas.style.width = `${side / ratio}px`;
  const pen = canvas.getContext("2d", { alpha: false });
  if (!pen) return;
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, side, side);
  pen.fillStyle = "#000";
  for (let y = 0; y < symbol.size; y += 1) {
    for (let x = 0; x < symbol.size; x += 1) {
      if (symbol.get(x, y)) pen.fillRect((x + QUIET) * module, (y + QUIET) * module, module, module);
    }
  }
}
