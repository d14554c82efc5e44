/** Taking typed digits: tried against this phone's own log, marked as received, and after three wrong entries a wait. */
import { chain, digest as digestOf } from "../formats/log_record.js";
import { heldAsKept } from "./held_records.js";
import { getMeta, keptRecords, setMeta } from "./log_store.js";
import { afterWrong, readDigits, receiptFor, waitMs } from "./receipt_digits.js";
import { markReceived } from "./received.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/** @typedef {{outcome: "received" | "part" | "already" | "short" | "wrong" | "wait", wait_ms: number}} Entered */

/** How long until digits may be entered again. @param {LogStore} db @param {number} nowMs */
export async function stillToWait(db, nowMs) {
  return waitMs(await getMeta(db, "digit_tries"), nowMs);
}

/**
 * Enters what was typed; marks exactly what the digits cover.
 * @param {LogStore} db
 * @param {string} text
 * @param {number} nowMs
 * @returns {Promise<Entered>}
 */
export async function enterDigits(db, text, nowMs) {
  const typed = readDigits(text);
  const waiting = await stillToWait(db, nowMs);
  if (waiting > 0) return { outcome: "wait", wait_ms: waiting };
  if (!typed) return { outcome: "short", wait_ms: 0 };
  const kept = await keptRecords(db);
  const confirmed = (await getMeta(db, "confirmed"))?.through ?? 0;
  const held = await heldAsKept();
  const receipt = await receiptFor(await getMeta(db, "root_key"), [...kept, ...held], confirmed, typed);
  if (!receipt) return wrong(db, nowMs);
  await setMeta(db, "digit_tries", null);
  const isPart = receipt.through < kept.length + held.length;
  if (receipt.through === confirmed) return { outcome: isPart ? "part" : "already", wait_ms: 0 };
  await mark(db, kept, receipt);
  return { outcome: isPart ? "part" : "received", wait_ms: 0 };
}

/** @param {LogStore} db @param {number} nowMs @returns {Promise<Entered>} */
async function wrong(db, nowMs) {
  const tries = afterWrong(await getMeta(db, "digit_tries"), nowMs);
  await setMeta(db, "digit_tries", tries);
  const wait_ms = waitMs(tries, nowMs);
  return { outcome: wait_ms > 0 ? "wait" : "wrong", wait_ms };
}

/**
 * Marks what is saved here; a receipt may reach to what is only held, which is sent again once it is saved.
 * @param {LogStore} db
 * @param {import("./log_store.js").Kept[]} kept
 * @param {{through: number, digest: string}} receipt
 */
async function mark(db, kept, receipt) {
  const through = Math.min(receipt.through, kept.length);
  const digest = through === receipt.through ? receipt.digest : digestOf(await chain(kept.map((one) => one.hash)));
  await markReceived(db, { through, digest, epoch: (await getMeta(db, "store_epoch")) ?? "" });
}
