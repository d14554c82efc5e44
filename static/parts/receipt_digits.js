/** The receipt that a person types: six digits that only the clinic and this phone can work out for a log. */
import { chainNext, digest } from "../formats/log_record.js";
import { fromHex, seal } from "./sealing.js";

export const DIGITS = 6;
export const WAIT_MS = 60_000;
const TRIES = 3;

/**
 * @typedef {{wrong_n: number, until_ms: number}} Tries
 * @typedef {{seq: number, hash: Uint8Array<ArrayBuffer>}} Hashed
 */

/** Reads what was typed; "" where it is not six digits. @param {string} text */
export function readDigits(text) {
  const typed = text.replace(/[\s.-]/g, "");
  return /^\d{6}$/.test(typed) ? typed : "";
}

/**
 * Works out the digits: HMAC-SHA-256 with the receipt key over `through` (8 bytes, big-endian) and the 8 bytes of the
 * digest; its first 8 bytes as a number, modulo a million.
 * @param {CryptoKey} root
 * @param {number} through
 * @param {string} digestHex
 */
export async function digitsFor(root, through, digestHex) {
  const message = new Uint8Array(16);
  new DataView(message.buffer).setBigUint64(0, BigInt(through));
  message.set(fromHex(digestHex), 8);
  const mac = await seal(root, "receipt", message);
  return String(BigInt(`0x${mac.slice(0, 16)}`) % 1_000_000n).padStart(DIGITS, "0");
}

/**
 * Finds the record that typed digits reach to, among those from `confirmed` on; null where they are no receipt of this log.
 * @param {CryptoKey} root
 * @param {Hashed[]} kept  every record of this phone, in order of seq
 * @param {number} confirmed  the last record that a receipt covers already
 * @param {string} typed
 */
export async function receiptFor(root, kept, confirmed, typed) {
  let chained = new Uint8Array(32);
  for (const { seq, hash } of kept) {
    chained = await chainNext(chained, hash);
    const reached = digest(chained);
    if (seq >= confirmed && (await digitsFor(root, seq, reached)) === typed) return { through: seq, digest: reached };
  }
  return null;
}

/**
 * Counts a wrong entry: after the third one it is a minute until the next.
 * @param {Tries | null} tries
 * @param {number} nowMs
 * @returns {Tries}
 */
export function afterWrong(tries, nowMs) {
  const wrong_n = (tries?.wrong_n ?? 0) + 1;
  return wrong_n < TRIES ? { wrong_n, until_ms: 0 } : { wrong_n: 0, until_ms: nowMs + WAIT_MS };
}

/**
 * How long to wait for the next entry; never longer than the minute, even where the clock was set back.
 * @param {Tries | null} tries
 * @param {number} nowMs
 */
export function waitMs(tries, nowMs) {
  return Math.min(WAIT_MS, Math.max(0, (tries?.until_ms ?? 0) - nowMs));
}
