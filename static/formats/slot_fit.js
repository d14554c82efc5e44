/** Which records the table can hold field by field; the same as webapp/formats/slot_fit.py. */

import { canonical, NOTE_BYTES } from "./log_record.js";

/** @typedef {import("./record_habits.js").Fields} Fields */
/** @typedef {{last?: string, now?: string, most?: number} | "index" | "moved"} Context */
/**
 * @typedef {{field: string, code: string, bits?: number, from?: string, first?: number, not_answered?: number,
 *   unit?: number, of?: string, list?: string, context?: Context[]}} Slot
 * @typedef {{either: [Slot, Slot]}} Either
 * @typedef {{kind: string, time: string, by?: string, head: string[], sets?: string[], slots: (Slot|Either)[],
 *   optional?: Slot[]}} Spec
 */

export const MOST_ENTRIES = 128;
export const MOST_RECORD_BYTES = 65_536;
// far above any time or count, and small enough that every sum and product stays exact in both languages
const MOST_WHOLE = 2 ** 40;
const ALWAYS = ["seq", "at_min"];

/** @param {unknown} value */
const isWhole = (value) => Number.isSafeInteger(value) && Math.abs(Number(value)) <= MOST_WHOLE;

/**
 * Gives the slot that holds a record's field where the table says either of two.
 * @param {Slot|Either} slot
 * @param {Fields} record
 * @returns {Slot}
 */
export function chosen(slot, record) {
  if (!("either" in slot)) return slot;
  const [one, other] = slot.either;
  return Object.hasOwn(record, one.field) ? one : other;
}

/**
 * Names the fields that the slots hold.
 * @param {Spec} spec
 * @param {Fields} record
 * @returns {Set<string>}
 */
export function held(spec, record) {
  return new Set(["kind", ...ALWAYS, ...spec.head, ...spec.slots.map((slot) => chosen(slot, record).field)]);
}

/**
 * Says whether each slot can hold its field.
 * @param {Spec} spec
 * @param {Fields} record
 * @returns {boolean}
 */
export function fits(spec, record) {
  const wholes = [...ALWAYS, ...spec.head].every((name) => isWhole(own(record, name)));
  return wholes && spec.slots.every((slot) => slotFits(chosen(slot, record), record));
}

/**
 * Says whether what the slots do not hold is just what the optional ones do.
 * @param {Spec} spec
 * @param {Fields} further
 * @returns {boolean}
 */
export function fitsOptional({ optional = [] }, further) {
  const names = Object.keys(further);
  return names.length > 0 && names.length === optional.length && optional.every((slot) => slotFits(slot, further));
}

/**
 * @param {Fields} record
 * @param {string} name
 */
const own = (record, name) => (Object.hasOwn(record, name) ? record[name] : undefined);

/** @type {{[code: string]: (value: unknown) => boolean}} */
const TEXTS = {
  text: (value) => typeof value === "string" && !value.includes("\0") &&
    new TextEncoder().encode(value).length <= NOTE_BYTES,
  hex: (value) => typeof value === "string" && value.length <= MOST_ENTRIES && /^[0-9a-f]*$/.test(value),
  object: (value) => typeof value === "object" && value !== null && !Array.isArray(value) &&
    canonical(/** @type {Fields} */ (value)).length <= MOST_RECORD_BYTES,
};

/**
 * @param {Slot} slot
 * @param {Fields} record
 * @returns {boolean}
 */
function slotFits(slot, record) {
  const value = own(record, slot.field);
  const ofText = TEXTS[slot.code];
  if (ofText) return ofText(value);
  if (slot.list === undefined && slot.code !== "set") return numberFits(slot, value);
  return Array.isArray(value) && value.length <= MOST_ENTRIES && value.every((one) => numberFits(slot, one));
}

/**
 * @param {Slot} slot
 * @param {unknown} value
 */
function numberFits(slot, value) {
  if (slot.code !== "symbol") return isWhole(value);
  return Number.isSafeInteger(value) && Number(value) >= 0 && Number(value) < 2 ** (slot.bits ?? 0);
}
