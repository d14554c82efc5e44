/**
 * wattlebird.record/1: one entry of the log, the phone's twin of webapp/formats/log_record.py (same table, same bytes).
 * Canonical bytes: UTF-8 JSON, keys sorted by code point, no spaces; only whole numbers, texts, lists and objects.
 */

import { COMMON, FIELDS, FORMAT, NOTE_BYTES, OPTIONAL, STRENGTHS } from "./record_fields.js";

export { COMMON, FIELDS, FORMAT, NOTE_BYTES, OPTIONAL, STRENGTHS };

/** @typedef {import("./record_fields.js").Field} Field */
/** @typedef {import("./record_fields.js").LogRecord} LogRecord */

/** @param {string} a @param {string} b @returns {number} */
function byCodePoint(a, b) {
  const left = Array.from(a, (letter) => letter.codePointAt(0) ?? 0);
  const right = Array.from(b, (letter) => letter.codePointAt(0) ?? 0);
  const differs = left.findIndex((code, n) => code !== right[n]);
  return differs < 0 ? left.length - right.length : (left[differs] ?? 0) - (right[differs] ?? -1);
}

/**
 * @param {unknown} value
 * @returns {value is {[name: string]: unknown}}
 */
const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

/**
 * @param {unknown} value
 * @param {string} path
 * @returns {string}
 */
function canonicalText(value, path) {
  if (typeof value === "string" && value.isWellFormed()) return JSON.stringify(value);
  if (typeof value === "number" && Number.isSafeInteger(value)) return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map((one, n) => canonicalText(one, `${path}[${n}]`)).join(",")}]`;
  if (isObject(value)) {
    const names = Object.keys(value).sort(byCodePoint);
    const pairs = names.map((name) => `${canonicalText(name, path)}:${canonicalText(value[name], `${path}.${name}`)}`);
    return `{${pairs.join(",")}}`;
  }
  throw new TypeError(`Expected only whole numbers, texts, lists and objects in a record, at ${path || "its top"}.`);
}

/**
 * Writes the canonical bytes; throws TypeError where a value is none that a record may hold.
 * @param {LogRecord} record
 * @returns {Uint8Array<ArrayBuffer>}
 */
export function canonical(record) {
  return new TextEncoder().encode(canonicalText(record, ""));
}

/**
 * @param {Uint8Array<ArrayBuffer>} bytes
 * @returns {Promise<Uint8Array<ArrayBuffer>>}
 */
async function sha256(bytes) {
  return new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
}

/** Gives the SHA-256 of the bytes: what says that two records are the same. */
export const contentHash = sha256;

/**
 * Adds one record to the chain: SHA-256(chain ‖ hash).
 * @param {Uint8Array} chained
 * @param {Uint8Array} hash
 * @returns {Promise<Uint8Array<ArrayBuffer>>}
 */
export function chainNext(chained, hash) {
  const both = new Uint8Array(chained.length + hash.length);
  both.set(chained);
  both.set(hash, chained.length);
  return sha256(both);
}

/**
 * Chains content hashes in the order of their seq; of none it is 32 zero bytes.
 * @param {Iterable<Uint8Array>} hashes
 * @param {Uint8Array<ArrayBuffer>} [start]
 * @returns {Promise<Uint8Array<ArrayBuffer>>}
 */
export async function chain(hashes, start = new Uint8Array(32)) {
  let value = start;
  for (const hash of hashes) value = await chainNext(value, hash);
  return value;
}

/**
 * Gives the first 8 bytes of a chain in hex, which a receipt carries.
 * @param {Uint8Array} chained
 * @returns {string}
 */
export const digest = (chained) =>
  Array.from(chained.slice(0, 8), (byte) => byte.toString(16).padStart(2, "0")).join("");

/**
 * @param {unknown} value
 * @param {Field} field
 * @returns {boolean}
 */
const isWhole = (value, field) =>
  Number.isSafeInteger(value) &&
  ((Number(value) >= field.lo && Number(value) <= field.hi) || value === field.not_answered);

/** @type {{[type in Field["type"]]: (value: unknown, field: Field) => boolean}} */
const FITS = {
  int: isWhole,
  ints: (value, field) =>
    Array.isArray(value) && value.length <= field.most_entries && value.every((one) => isWhole(one, field)),
  text: (value, field) => typeof value === "string" && new TextEncoder().encode(value).length <= field.hi,
  hex: (value, field) => typeof value === "string" && /^[0-9a-f]*$/.test(value) &&
    value.length >= field.lo && value.length <= field.hi,
  object: (value) => typeof value === "object" && value !== null && !Array.isArray(value),
};

/**
 * @param {{[name: string]: unknown}} record
 * @returns {{[name: string]: Field}}
 */
function wanted(record) {
  const fields = { ...COMMON, ...FIELDS[String(record["kind"])] };
  for (const [name, field] of Object.entries(OPTIONAL[String(record["kind"])] ?? {})) if (name in record) fields[name] = field;
  if (record["kind"] !== "session") return fields;
  for (const name of STRENGTHS) if (!(name in record)) delete fields[name];
  return fields;
}

/**
 * Gives the names of the fields that are missing or out of their range; "" stands for the record as a whole.
 * @param {{[name: string]: unknown}} record
 * @returns {string[]}
 */
export function problems(record) {
  const found = [];
  const kind = record["kind"];
  if (record["format"] !== FORMAT) found.push("format");
  if (typeof kind !== "string" || kind.length < 1 || kind.length > 40) found.push("kind");
  const strengths = STRENGTHS.filter((name) => name in record).length;
  if (kind === "session" && strengths !== 1) found.push("");
  for (const [name, field] of Object.entries(wanted(record))) {
    if (!FITS[field.type](record[name], field)) found.push(name);
  }
  try {
    canonical(record);
  } catch {
    found.push("");
  }
  return found;
}
