/** Reads the codes of a returned log in pictures: the one place that knows the vendored reader. */

import { sharpen } from "./sharpening.js";
import { prepareZXingModule, readBarcodes } from "../vendor/zxing/reader/index.js";

/** @typedef {{x: number, y: number}} Corner */
/** @typedef {{corners: Corner[], modules: number}} Found `modules`: along one side, 0 where not known */
/** @typedef {{texts: string[], found: Found | null}} Look what one look at a picture gave */

/**
 * Ways to look at a frame, taken in turn while nothing is read: as it is, then sharpened for modules of some sizes.
 * Chosen on simulated frames, two sizes, in fair, poor and dark light.
 * @type {(import("./sharpening.js").Sharpness | null)[]}
 */
const WAYS = [null, { grain: 1, around: 3, by: 2 }, { grain: 2, around: 4, by: 3 }, { grain: 1, around: 2, by: 2 }];
export const WAYS_N = WAYS.length;

/** Loads the reader from this server; it asks nobody else. */
export async function prepareReader() {
  const locateFile = () => new URL("../vendor/zxing_reader.wasm", import.meta.url).href;
  await prepareZXingModule({ overrides: { locateFile }, fireImmediately: true });
}

/** @param {string} version of the symbol, as the reader names it */
const modulesOf = (version) => (Number(version) >= 1 ? 17 + 4 * Number(version) : 0);

/** Turns pictures into pixels, on one canvas. */
export class Pixels {
  #canvas = new OffscreenCanvas(1, 1);

  /** @param {CanvasImageSource} source @param {number} width @param {number} height */
  of(source, width, height) {
    const size = { width: Math.max(1, Math.round(width)), height: Math.max(1, Math.round(height)) };
    if (this.#canvas.width !== size.width || this.#canvas.height !== size.height) Object.assign(this.#canvas, size);
    const pen = this.#canvas.getContext("2d", { willReadFrequently: true });
    if (!pen) throw new Error("no canvas");
    pen.drawImage(source, 0, 0, size.width, size.height);
    return pen.getImageData(0, 0, size.width, size.height);
  }
}

/**
 * Looks once at a picture; corners are in its own pixels.
 * @param {Pixels} pixels @param {CanvasImageSource} source @param {number} width @param {number} height
 * @param {number} way  which way of looking, 0 for the first
 * @returns {Promise<Look>}
 */
export async function lookAt(pixels, source, width, height, way = 0) {
  const image = pixels.of(source, width, height);
  const how = WAYS[way % WAYS_N];
  if (how) sharpen(image, how);
  const results = await readBarcodes(image, {
    formats: ["QRCode"], tryInvert: false, maxNumberOfSymbols: 4, returnErrors: true, textMode: "Plain",
  });
  const best = results.find((one) => one.isValid) ?? results[0];
  if (!best) return { texts: [], found: null };
  const { topLeft, topRight, bottomRight, bottomLeft } = best.position;
  return {
    texts: results.filter((one) => one.isValid).map((one) => one.text),
    found: { corners: [topLeft, topRight, bottomRight, bottomLeft], modules: modulesOf(best.version) },
  };
}
