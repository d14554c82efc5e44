/** How long this phone keeps a record that its therapist has: 30 days, then what it says is erased. */
import { keptRecords } from "./log_store.js";
import { transact } from "./phone_database.js";

const KEPT_MS = 30 * 86_400_000;

/**
 * Lists the records that may go: received 30 days ago, and so is everything before them. Pure.
 * @param {{seq: number, received_ms: number, bytes: {length: number}}[]} kept
 * @param {number} nowMs
 */
export function oldOnes(kept, nowMs) {
  const stays = kept.findIndex((one) => one.received_ms === 0 || one.received_ms > nowMs - KEPT_MS);
  return kept.slice(0, stays < 0 ? kept.length : stays).filter((one) => one.bytes.length > 0).map((one) => one.seq);
}

/**
 * Erases what may go; the hashes stay, as every receipt is a chain over them. A skin finding that still bars practice is needed: while one does, nothing goes.
 * @param {import("./log_store.js").LogStore} db
 * @param {boolean} barred
 * @param {number} nowMs
 */
export async function eraseOld(db, barred, nowMs) {
  const kept = await keptRecords(db);
  const old = barred ? [] : oldOnes(kept, nowMs);
  if (old.length === 0) return;
  await transact(db, ["records"], "readwrite", (tx) => {
    for (const one of kept.filter(({ seq }) => old.includes(seq))) {
      tx.objectStore("records").put({ ...one, kind: "erased", bytes: new Uint8Array() });
    }
    return () => undefined;
  });
}
