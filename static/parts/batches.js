/** What one request to the clinic carries of the log. Pure. */

import { toHex } from "./sealing.js";

/** @typedef {import("./log_store.js").Kept} Kept */

const [BATCH_RECORDS, BATCH_BYTES, WHOLE_BYTES] = [64, 100_000, 180_000];
const HASH_BYTES = 8;

/** Gives the oldest of what is unsent that one request may hold. @param {Kept[]} unsent */
export function firstBatch(unsent) {
  let bytes = 0;
  return unsent.slice(0, BATCH_RECORDS).filter((one, n) => (bytes += one.bytes.length) <= BATCH_BYTES || n === 0);
}

/** Gives the oldest records that one request may hold, received or not. @param {Kept[]} kept */
export function wholeLog(kept) {
  let bytes = 0;
  return kept.filter((one) => one.bytes.length > 0 && (bytes += one.bytes.length) <= WHOLE_BYTES);
}

/** Names what was erased by the beginning of its hash. @param {Kept[]} kept @returns {[number, string][]} */
export const erasedOnes = (kept) =>
  kept.filter((one) => one.bytes.length === 0).map((one) => [one.seq, toHex(one.hash.subarray(0, HASH_BYTES))]);
