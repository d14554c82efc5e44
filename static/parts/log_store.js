// The log on this phone: records frozen as they are written, the session under way, and what came home.

import { canonical, contentHash, problems } from "../formats/log_record.js";
import { openDatabase, storeEvents, transact } from "./phone_database.js";
import { handle as handleHere } from "./place.js";

export { StoreTrouble, storeEvents } from "./phone_database.js";

/** @typedef {import("./phone_database.js").LogStore} LogStore */
/** @typedef {Record<string, any>} Fields */
/** @typedef {{seq: number, kind: string, bytes: Uint8Array<ArrayBuffer>, hash: Uint8Array<ArrayBuffer>, received_ms: number}} Kept `bytes` are empty once erased */
/** @typedef {{pack_id: string, version: number}} PackName */
/** @typedef {{needsDraft?: boolean, refuseDraft?: boolean, also?: (tx: IDBTransaction) => void}} Conditions */

const DRAFT = 1;

/**
 * What could not be written and was not tried again since, by kind: in this page's memory only.
 * @type {Map<string, {fields: Fields, conditions: Conditions}>}
 */
export const unwritten = new Map();

/** @param {string} name */
const tell = (name) => storeEvents.dispatchEvent(new CustomEvent(name));

/** Opens the log of a handle; throws StoreTrouble("empty") where this phone has none. */
export function openStore(handle = handleHere()) {
  return openDatabase(handle);
}

/** @param {LogStore} db @param {string} name @returns {Promise<any>} */
export function getMeta(db, name) {
  return transact(db, ["meta"], "readonly", (tx) => {
    const asked = tx.objectStore("meta").get(name);
    return () => asked.result?.value ?? null;
  });
}

/** @param {LogStore} db @param {Fields} values */
export function setMetas(db, values) {
  return transact(db, ["meta"], "readwrite", (tx) => {
    for (const [name, value] of Object.entries(values)) tx.objectStore("meta").put({ name, value });
    return () => undefined;
  });
}

/** @param {LogStore} db @param {string} name @param {unknown} value */
export function setMeta(db, name, value) {
  return setMetas(db, { [name]: value });
}

/** Gives the local wall clock as a record holds it: minutes since 1970 as the clock on the wall shows them. */
export function localNow(date = new Date()) {
  const offset_min = -date.getTimezoneOffset();
  return { at_min: Math.floor((date.getTime() / 60_000) + offset_min), utc_q: Math.round(offset_min / 15) };
}

/** Makes a record with a number, not yet written. @param {LogStore} db @param {string} kind @param {Fields} fields @param {number} seq */
export async function freeze(db, kind, fields, seq) {
  const device = await getMeta(db, "device");
  const record = { ...localNow(), ...fields, format: "wattlebird.record/1", device, seq, kind };
  const wrong = problems(record);
  if (wrong.length > 0) throw new RangeError(`not a ${kind} record: ${wrong.join(", ")}`);
  const bytes = canonical(record);
  return { record, kept: { seq, kind, bytes, hash: await contentHash(bytes), received_ms: 0 } };
}

/**
 * Adds a record if `seq` is still the next one. @param {LogStore} db @param {Kept} kept @param {Conditions} conditions
 * @returns {Promise<"added" | "again" | "refused">}
 */
export function add(db, kept, { needsDraft = false, refuseDraft = false, also }) {
  return transact(db, ["meta", "records", "draft"], "readwrite", (tx) => {
    /** @type {"added" | "again" | "refused"} */
    let outcome = "again";
    const meta = tx.objectStore("meta");
    const next = meta.get("next_seq");
    const draft = tx.objectStore("draft").get(DRAFT);
    draft.onsuccess = () => {
      if ((needsDraft && !draft.result) || (refuseDraft && draft.result)) outcome = "refused";
      else if ((next.result?.value ?? 1) === kept.seq) {
        outcome = "added";
        tx.objectStore("records").add(kept);
        meta.put({ name: "next_seq", value: kept.seq + 1 });
        also?.(tx);
      }
    };
    return () => outcome;
  });
}

/**
 * Writes a record with the next number, in the transaction that gives the number; another page of this phone may have
 * taken it meanwhile: then it is frozen anew. Null where a condition does not hold.
 * @param {LogStore} db @param {string} kind @param {Fields} fields @param {Conditions} conditions
 * @returns {Promise<Fields | null>}
 */
export async function append(db, kind, fields, conditions = {}) {
  const dated = { ...localNow(), ...fields };
  if (!conditions.also || conditions.also === removeDraft) unwritten.set(kind, { fields: dated, conditions });
  for (;;) {
    const { record, kept } = await freeze(db, kind, dated, (await getMeta(db, "next_seq")) ?? 1);
    const outcome = await add(db, kept, conditions);
    if (outcome !== "again") unwritten.delete(kind);
    if (outcome === "refused") return null;
    if (outcome === "added") {
      tell("record");
      return record;
    }
  }
}

/** Writes a record; when it resolves the record is on the disk. @param {LogStore} db @param {string} kind @param {Fields} fields */
export async function writeRecord(db, kind, fields) {
  return /** @type {Fields} */ (await append(db, kind, fields));
}

/** Reads the records as they are kept. @param {LogStore} db @returns {Promise<Kept[]>} */
export function keptRecords(db) {
  return transact(db, ["records"], "readonly", (tx) => {
    const asked = tx.objectStore("records").getAll();
    return () => asked.result;
  });
}

/** Tells whether a record has yet to go home. @param {Kept} one */
export function isUnsent(one) {
  return one.received_ms === 0 && one.bytes.length > 0;
}

/** Reads the log by number, without what was erased. @param {LogStore} db */
export async function allRecords(db) {
  return (await keptRecords(db)).filter((one) => one.bytes.length > 0).map(({ seq, kind, bytes, received_ms }) =>
    ({ seq, kind, received_ms, record: /** @type {Fields} */ (JSON.parse(new TextDecoder().decode(bytes))) }));
}

/** Reads the session under way. @param {LogStore} db @returns {Promise<Fields | null>} */
export function readDraft(db) {
  return transact(db, ["draft"], "readonly", (tx) => {
    const asked = tx.objectStore("draft").get(DRAFT);
    return () => asked.result ?? null;
  });
}

/** Saves the session under way; never throws, so that cues go on: false when it could not be saved. @param {LogStore} db @param {Fields} draft */
export async function saveDraft(db, draft) {
  try {
    await transact(db, ["draft"], "readwrite", (tx) => {
      tx.objectStore("draft").put({ ...draft, id: DRAFT, saved_ms: Date.now() });
      return () => undefined;
    });
  } catch {
    return false; // whoever shows trouble has heard of it from the store's own event
  }
  tell("draft");
  return true;
}

/** @param {IDBTransaction} tx */
export const removeDraft = (tx) => void tx.objectStore("draft").delete(DRAFT);

/** Lets go of a session that had not come to the unit yet. @param {LogStore} db */
export async function dropDraft(db) {
  await transact(db, ["draft"], "readwrite", (tx) => {
    removeDraft(tx);
    return () => undefined;
  });
  tell("draft");
}

/**
 * Closes the session under way: its record and the draft's removal are one transaction. Null where another page of this
 * phone has closed it already. @param {LogStore} db @param {Fields} fields
 */
export async function closeDraft(db, fields) {
  const record = await append(db, "session", fields, { needsDraft: true, also: removeDraft });
  tell("draft");
  return record;
}

/** Asks the browser not to clear this phone's log when space runs short; works whatever it answers. */
export async function askToPersist() {
  return (await navigator.storage?.persist?.()) ?? false;
}
