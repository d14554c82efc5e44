/**
 * The head of a returned log's frame, before its seal: whose it is, and which of how many. The same bytes as
 * webapp/formats/return_code.py, which says how a frame is made.
 */

import { decode } from "./base45.js";

/**
 * @typedef {{at: number, of: number}} Part  counted from 1
 * @typedef {Part & {device: string, showing: number}} Head  `showing` is the number that all frames of one showing share
 */

export const PREFIX = "WB:";
export const HEADER_BYTES = 10;
export const PART_BYTES = 3;
export const MOST_PARTS = 255;
export const LENGTHS = 0x1000;
const [ALONE, PART] = [1, 2];
const HEAD_LETTERS = 21; // of 14 bytes, more than any header

/**
 * Writes a header.
 * @param {string} device @param {number} length of the whole frame @param {(Part & {showing: number}) | null} part
 */
export function makeHeader(device, length, part) {
  const word = (part ? PART : ALONE) * LENGTHS + length % LENGTHS;
  const pairs = (device.match(/../g) ?? []).map((pair) => Number.parseInt(pair, 16));
  return Uint8Array.from([word >> 8, word & 0xff, ...pairs, ...(part ? [part.showing, part.at, part.of] : [])]);
}

/**
 * Reads what a payload says of itself, before any seal was looked at; null where it is none that can be read here.
 * @param {string} payload
 * @returns {Head | null}
 */
export function headOf(payload) {
  const text = payload.trim();
  try {
    const frame = decode(text.startsWith(PREFIX) ? text.slice(PREFIX.length, PREFIX.length + HEAD_LETTERS) : "");
    const [first = 0] = frame;
    const [showing = 0, at = 0, of = 0] = first >> 4 === PART ? frame.subarray(HEADER_BYTES) : [0, 1, 1];
    const device = Array.from(frame.subarray(2, HEADER_BYTES), (byte) => byte.toString(16).padStart(2, "0")).join("");
    const isRight = device.length === 16 && [ALONE, PART].includes(first >> 4) && at >= 1 && at <= of;
    return isRight ? { device, showing, at, of } : null;
  } catch {
    return null;
  }
}
