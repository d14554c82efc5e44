// A device that the clinic does not know any more (a backup was put back): its log goes on under the one let in anew.

import { canonical, contentHash } from "../formats/log_record.js";
import { getMeta, keptRecords, setMetas } from "./log_store.js";
import { transact } from "./phone_database.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/** @typedef {import("./log_store.js").Kept} Kept */

// fields that name another record of the same log
const NAMES = ["session_seq", "corrects_seq"];

/**
 * Carries the logs of the same client's disowned stores over, each once, however often it is begun.
 * @param {LogStore[]} stores @param {LogStore} to
 */
export async function carryLogOver(stores, to) {
  for (const from of stores) {
    const [disowned, moved] = [await getMeta(from, "disowned_ms"), await getMeta(from, "moved_to")];
    const isSame = from.handle !== to.handle && (await getMeta(from, "code")) === (await getMeta(to, "code"));
    if (disowned && isSame && !moved) await move(from, to);
  }
}

/** @param {LogStore} from @param {LogStore} to */
async function move(from, to) {
  const [device, was] = [await getMeta(to, "device"), await getMeta(from, "device")];
  const taken = (await getMeta(to, "moved_from")) ?? [];
  if (!taken.includes(was)) {
    const first = (await getMeta(to, "next_seq")) ?? 1;
    const records = await renamed(await keptRecords(from), device, first);
    // records, numbers and the note that they were taken: in one step, so that none comes twice
    await transact(to, ["meta", "records"], "readwrite", (tx) => {
      for (const record of records) tx.objectStore("records").add(record);
      tx.objectStore("meta").put({ name: "next_seq", value: first + records.length });
      tx.objectStore("meta").put({ name: "moved_from", value: [...taken, was] });
      return () => undefined;
    });
  }
  await setMetas(from, { moved_to: to.handle });
}

/**
 * Writes records anew under another device: what they say stays, with the name that they had.
 * @param {Kept[]} kept @param {string} device @param {number} first @returns {Promise<Kept[]>}
 */
async function renamed(kept, device, first) {
  const held = kept.filter((one) => one.bytes.length > 0);
  const seqs = new Map(held.map((one, n) => [one.seq, first + n]));
  return Promise.all(held.map(async ({ seq, kind, bytes }) => {
    const record = JSON.parse(new TextDecoder().decode(bytes));
    const named = NAMES.filter((name) => seqs.has(record[name])).map((name) => [name, seqs.get(record[name])]);
    const moved_from = record.moved_from ?? [record.device, seq];
    const anew = canonical({ ...record, ...Object.fromEntries(named), device, seq: seqs.get(seq), moved_from });
    return { seq: /** @type {number} */ (seqs.get(seq)), kind, bytes: anew, hash: await contentHash(anew), received_ms: 0 };
  }));
}
