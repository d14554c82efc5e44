/**
 * Records that this phone could not write: held in this window with their number, so that a code can take them home and
 * the very same bytes are written once there is room.
 */
import { canonical, contentHash } from "../formats/log_record.js";
import { add, append, freeze, getMeta, removeDraft, unwritten } from "./log_store.js";
import { handle } from "./place.js";

/** @typedef {{record: import("./log_store.js").Fields, closesDraft: boolean}} Held */

const key = () => `held-${handle()}`;

/** @returns {Held[]} */
export function heldRecords() {
  try {
    return JSON.parse(sessionStorage.getItem(key()) ?? "[]");
  } catch {
    return [];
  }
}

/** @param {Held[]} held */
function keep(held) {
  if (held.length > 0) sessionStorage.setItem(key(), JSON.stringify(held));
  else sessionStorage.removeItem(key());
}

/**
 * Holds what could not be written; false where that cannot be done either: then it stays with the page that asked.
 * @param {import("./log_store.js").LogStore} db
 */
export async function holdUnwritten(db) {
  try {
    const held = heldRecords();
    const next = (await getMeta(db, "next_seq")) ?? 1;
    for (const [kind, { fields, conditions }] of unwritten) {
      const { record } = await freeze(db, kind, fields, next + held.length);
      held.push({ record, closesDraft: conditions.needsDraft ?? false });
    }
    keep(held);
    unwritten.clear();
    return held.length > 0;
  } catch {
    return false;
  }
}

/** Gives the held records as the log gives its own, hash included. */
export async function heldAsKept() {
  return Promise.all(heldRecords().map(async ({ record }) => (
    { seq: record["seq"], kind: record["kind"], received_ms: 0, record, hash: await contentHash(canonical(record)) })));
}

/**
 * Writes what is held; false while it cannot be written.
 * @param {import("./log_store.js").LogStore} db
 */
export async function writeHeld(db) {
  try {
    for (const held of heldRecords()) {
      await write(db, held);
      keep(heldRecords().slice(1));
    }
    return true;
  } catch {
    unwritten.clear(); // it is held here
    return false;
  }
}

/**
 * Writes one with its own number, or with the next one where another window took that.
 * @param {import("./log_store.js").LogStore} db
 * @param {Held} held
 */
async function write(db, { record, closesDraft }) {
  const conditions = closesDraft ? { needsDraft: true, also: removeDraft } : {};
  const bytes = canonical(record);
  const { seq, kind } = /** @type {{seq: number, kind: string}} */ (record);
  const outcome = await add(db, { seq, kind, bytes, hash: await contentHash(bytes), received_ms: 0 }, conditions);
  if (outcome === "again") await append(db, kind, record, conditions);
}
