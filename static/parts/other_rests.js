/** Rests by the clinic's own word or by a finding of another phone: this one hears of them, and of their end, from the clinic. */
import { dayOf } from "./local_time.js";
import { getMeta, localNow, setMeta } from "./log_store.js";
import { fromHex, seal } from "./sealing.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/**
 * @typedef {{device: string, through: number, exercises: number[], at_min: number, why?: string, until?: string}} OtherRest
 *   exercises: 0 stands for all; why: "not_at_home" or "by_word" where the clinic asks, not a phone; until: the day from which
 *   practice goes on by itself, "" none
 */

// longer than a receipt's message and than that of this phone's own rests, so none can stand for another
const LABEL = new TextEncoder().encode("wattlebird rest of another phone ended 1");

/**
 * Those that still hold, the latest first; `ended` maps a phone to the record through which its rests are over.
 * @param {OtherRest[]} rests
 * @param {{[device: string]: number}} ended
 * @param {string} [today]
 */
export function holding(rests, ended, today = "") {
  return rests.filter(({ device, through, until }) => through > (ended[device] ?? 0) && !(until && until <= today)).sort((a, b) => b.at_min - a.at_min);
}

/** @param {LogStore} db @param {number} [nowMin] local minutes @returns {Promise<OtherRest[]>} */
export async function otherRests(db, nowMin = localNow().at_min) {
  return holding((await getMeta(db, "other_rests")) ?? [], (await getMeta(db, "other_rests_ended")) ?? {}, dayOf(nowMin));
}

/**
 * Notes what the clinic says of the other phones; true where that is news. An older clinic says nothing: what was known holds.
 * @param {LogStore} db
 * @param {OtherRest[] | undefined} told
 */
export async function noteOtherRests(db, told) {
  if (!Array.isArray(told)) return false;
  const before = JSON.stringify(await otherRests(db));
  await setMeta(db, "other_rests", told);
  return JSON.stringify(await otherRests(db)) !== before;
}

/** The client typed the digits of a rest's end. @param {LogStore} db @param {OtherRest} rest */
export async function endOtherRest(db, { device, through }) {
  const ended = (await getMeta(db, "other_rests_ended")) ?? {};
  await setMeta(db, "other_rests_ended", { ...ended, [device]: Math.max(through, ended[device] ?? 0) });
}

/**
 * The digits that end another phone's rest on this one: HMAC-SHA-256 with this phone's receipt key over the label, the 8 bytes
 * of either phone (this one first) and `through` (8 bytes, big-endian).
 * @param {CryptoKey} root
 * @param {string} device
 * @param {{device: string, through: number}} rest
 */
export function otherRestSeal(root, device, rest) {
  const message = new Uint8Array(LABEL.length + 24);
  message.set(LABEL);
  message.set(fromHex(device), LABEL.length);
  message.set(fromHex(rest.device), LABEL.length + 8);
  new DataView(message.buffer).setBigUint64(LABEL.length + 16, BigInt(rest.through));
  return seal(root, "receipt", message);
}
