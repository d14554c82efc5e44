/** The end of a rest: heard from the clinic, or typed as six digits that only the clinic and this phone can work out. */
import { getMeta, setMeta } from "./log_store.js";
import { endOtherRest, otherRestSeal } from "./other_rests.js";
import { afterWrong, DIGITS, readDigits, waitMs } from "./receipt_digits.js";
import { fromHex, seal } from "./sealing.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/** @typedef {{outcome: "ended" | "earlier" | "short" | "wrong" | "wait", wait_ms: number}} Entered */

// longer than a receipt's message, so neither can stand for the other
const LABEL = new TextEncoder().encode("wattlebird rest ended 1");

/**
 * Works out the digits: HMAC-SHA-256 with the receipt key over the label, the 8 bytes of the device and `through` (8 bytes,
 * big-endian); its first 8 bytes as a number, modulo a million.
 * @param {CryptoKey} root
 * @param {string} device
 * @param {number} through
 */
export async function restDigits(root, device, through) {
  const message = new Uint8Array(LABEL.length + 16);
  message.set(LABEL);
  message.set(fromHex(device), LABEL.length);
  new DataView(message.buffer).setBigUint64(LABEL.length + 8, BigInt(through));
  return digitsOf(await seal(root, "receipt", message));
}

/** @param {string} mac */
const digitsOf = (mac) => String(BigInt(`0x${mac.slice(0, 16)}`) % 1_000_000n).padStart(DIGITS, "0");

/** Notes through which record the therapist ended rests; true where that is news. @param {LogStore} db @param {number} through */
export async function restEnded(db, through) {
  if (!Number.isSafeInteger(through) || through <= ((await getMeta(db, "rest_ended")) ?? 0)) return false;
  await setMeta(db, "rest_ended", through);
  return true;
}

/** How long until digits may be entered again. @param {LogStore} db @param {number} nowMs */
export async function restToWait(db, nowMs) {
  return waitMs(await getMeta(db, "rest_tries"), nowMs);
}

/**
 * Enters what was typed: tried against the findings that ask for rest, the latest first. *Earlier* is the end of a rest that a
 * later finding has begun anew.
 * @param {LogStore} db
 * @param {number[]} findings  numbers of the records that ask for rest
 * @param {string} text
 * @param {number} nowMs
 * @param {import("./other_rests.js").OtherRest[]} [others]  of the client's other phones
 * @returns {Promise<Entered>}
 */
export async function enterRestDigits(db, findings, text, nowMs, others = []) {
  const typed = readDigits(text);
  const waiting = await restToWait(db, nowMs);
  if (waiting > 0) return { outcome: "wait", wait_ms: waiting };
  if (!typed) return { outcome: "short", wait_ms: 0 };
  const [root, device] = [await getMeta(db, "root_key"), await getMeta(db, "device")];
  const latest = Math.max(...findings);
  for (const through of findings) {
    if ((await restDigits(root, device, through)) !== typed) continue;
    await setMeta(db, "rest_tries", null);
    await restEnded(db, through);
    return { outcome: through === latest ? "ended" : "earlier", wait_ms: 0 };
  }
  for (const rest of others) {
    if (digitsOf(await otherRestSeal(root, device, rest)) !== typed) continue;
    await setMeta(db, "rest_tries", null);
    await endOtherRest(db, rest);
    return { outcome: "ended", wait_ms: 0 };
  }
  const tries = afterWrong(await getMeta(db, "rest_tries"), nowMs);
  await setMeta(db, "rest_tries", tries);
  const wait_ms = waitMs(tries, nowMs);
  return { outcome: wait_ms > 0 ? "wait" : "wrong", wait_ms };
}
