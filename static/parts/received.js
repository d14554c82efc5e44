// What a receipt of the clinic covers: marked on this phone only where its digest is this phone's own.

import { chain, digest } from "../formats/log_record.js";
import { keptRecords, storeEvents } from "./log_store.js";
import { transact } from "./phone_database.js";

/** @typedef {import("./log_store.js").Kept} Kept */
/** @typedef {{first: number, through: number, digest: string}} Run */
/** @typedef {{through: number, digest: string, epoch: string, after?: Run | null}} Receipt */

/** @param {Kept[]} kept @param {number} first @param {number} through */
const among = (kept, first, through) => kept.filter((one) => one.seq >= first && one.seq <= through);

/** Tells whether this phone holds every record of a run, with just this digest. @param {Kept[]} kept @param {Run} run */
async function isOwn(kept, { first, through, digest: said }) {
  const covered = among(kept, first, through);
  return covered.length === through - first + 1 && digest(await chain(covered.map((one) => one.hash))) === said;
}

/**
 * Tells whether a run after a gap counts: only where all that lies between was erased here, as received by a store
 * before this one.
 * @param {Kept[]} kept @param {Receipt} receipt
 */
const isAfterGap = (kept, { through, after }) => among(kept, through + 1, (after?.first ?? 0) - 1).every((one) => one.bytes.length === 0);

/**
 * Marks what a receipt covers as received, if its digest is this phone's own chain's; takes marks back where the
 * clinic's store lost them (a restored backup). Gives how many became received, -1 where a digest differs.
 * @param {import("./log_store.js").LogStore} db @param {Receipt} receipt
 */
export async function markReceived(db, receipt) {
  const kept = await keptRecords(db);
  const { through, digest: said, epoch } = receipt;
  const after = receipt.after && isAfterGap(kept, receipt) ? receipt.after : null;
  if (!(await isOwn(kept, { first: 1, through, digest: said })) || (after && !(await isOwn(kept, after)))) return -1;
  const covers = (/** @type {number} */ seq) => seq <= through || (after ? seq >= after.first && seq <= after.through : false);
  const now = Date.now();
  const changed = kept.filter((one) => covers(one.seq) !== one.received_ms > 0);
  await transact(db, ["meta", "records"], "readwrite", (tx) => {
    for (const one of changed) tx.objectStore("records").put({ ...one, received_ms: covers(one.seq) ? now : 0 });
    tx.objectStore("meta").put({ name: "confirmed", value: { through, digest: said } });
    tx.objectStore("meta").put({ name: "store_epoch", value: epoch });
    return () => undefined;
  });
  if (changed.length > 0) storeEvents.dispatchEvent(new CustomEvent("received"));
  return changed.filter((one) => covers(one.seq)).length;
}
