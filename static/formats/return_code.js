/**
 * The returned log as QR payloads: self-contained frames, each a small log with its own header and seal. The same bytes
 * as webapp/formats/return_code.py, which says how a frame is made; this side writes, the clinic's reads.
 */

import { Encoder } from "./arithmetic.js";
import { encode } from "./base45.js";
import { RecordCoding } from "./record_coding.js";
import { HEADER_BYTES, makeHeader, MOST_PARTS, PART_BYTES, PREFIX } from "./return_frame.js";
import { TextModel } from "./text_model.js";

/** @typedef {import("./log_record.js").LogRecord} LogRecord */
/** @typedef {import("./record_coding.js").Table} Table */
/** @typedef {import("./return_frame.js").Part} Part */
/**
 * @typedef {{payload: string, seqs: number[], version: number, part: Part | null}} Frame
 *   `version` 0: too long for any symbol; `part` null: it is all there is
 */

export const ONE_SYMBOL = 15;
export const SMALLER = 10;
const IV_BYTES = 12;
const ENVELOPE_BYTES = HEADER_BYTES + IV_BYTES + 16;
const MORE = 64_512;
// a frame without a symbol (in a file) ends here at the latest
const MOST_BODY_BYTES = 131_072;
// letters of a symbol of version 1 to 40, level L, alphanumeric mode: ISO/IEC 18004, table of capacities
export const CAPACITIES = [
  25, 47, 77, 114, 154, 195, 224, 279, 335, 395, 468, 535, 619, 667, 758, 854, 938, 1046, 1153, 1249, 1352, 1460, 1588,
  1704, 1853, 1990, 2132, 2223, 2369, 2520, 2677, 2840, 3009, 3183, 3351, 3537, 3729, 3927, 4087, 4296,
];

/** The table of fields, contexts and starting chances, with the text model that has read its primer. */
export class ReturnTable {
  /** @param {Table} table return_table.json */
  constructor(table) {
    this.table = table;
    this.primed = TextModel.reading(new TextEncoder().encode(table.primer.map((note) => `${note}\0`).join("")));
  }

  /**
   * Codes as many records as fit, at least one; gives the body and how many it holds.
   * @param {LogRecord[]} records of one device, in the order of their seq
   * @param {number} mostBytes
   */
  encodeBody(records, mostBytes = MOST_BODY_BYTES) {
    const encoder = new Encoder();
    const coding = new RecordCoding(encoder, this.table, this.primed);
    let body = new Uint8Array();
    let taken = 0;
    for (const { format: _format, device: _device, ...record } of records) {
      encoder.code(1, MORE);
      coding.code(record);
      const ended = encoder.copy();
      ended.code(0, MORE);
      const longer = ended.finish();
      if (taken && (coding.isSpent || longer.length > mostBytes)) break;
      body = longer;
      taken += 1;
    }
    return { body, taken };
  }
}

/**
 * Gives the longest body that a symbol of a version holds.
 * @param {number} version
 */
export function mostBodyBytes(version) {
  const letters = (CAPACITIES[version - 1] ?? 0) - PREFIX.length;
  return Math.floor(letters / 3) * 2 + Number(letters % 3 === 2) - ENVELOPE_BYTES;
}

/**
 * Gives the smallest symbol version that holds a payload; 0 where none does.
 * @param {string} payload
 */
export const versionFor = (payload) => CAPACITIES.findIndex((most) => payload.length <= most) + 1;

/**
 * Derives the key that seals a phone's frames: AES-256-GCM, which no script can read back out.
 * @param {CryptoKey} root the device's root key (HKDF, `deriveKey`)
 */
export function codeKey(root) {
  const info = new TextEncoder().encode("wattlebird code 1");
  const from = { name: "HKDF", hash: "SHA-256", salt: new Uint8Array(), info };
  return crypto.subtle.deriveKey(from, root, { name: "AES-GCM", length: 256 }, false, ["encrypt"]);
}

/**
 * Makes sealed payloads of one device's records, in the order given, as few as symbols of `maxVersion` allow. A record
 * that is too long for such a symbol gets a frame of its own; its `version` says how large. Infinity is for a file: as
 * few frames as can be.
 * @param {{table: ReturnTable, records: LogRecord[], device: string, key: CryptoKey, maxVersion?: number}} log
 * @returns {Promise<Frame[]>}
 */
export async function encodeFrames({ table, records, device, key, maxVersion = ONE_SYMBOL }) {
  const isForeign = records.some((one) => one["device"] !== device || one["format"] !== table.table.record);
  if (isForeign) throw new RangeError(`a record that is not ${table.table.record} of ${device}`);
  const bodies = bodiesOf(records, maxVersion === Infinity ? MOST_BODY_BYTES : mostBodyBytes(maxVersion), table);
  const [showing = 0] = crypto.getRandomValues(new Uint8Array(1));
  const isCounted = bodies.length > 1 && bodies.length <= MOST_PARTS;
  /** @type {Frame[]} */
  const frames = [];
  let from = 0;
  for (const [n, { body, taken }] of bodies.entries()) {
    const part = isCounted ? { at: n + 1, of: bodies.length } : null;
    const payload = await seal(body, device, key, part && { ...part, showing });
    const seqs = records.slice(from, from + taken).map((one) => Number(one["seq"]));
    frames.push({ payload, seqs, version: versionFor(payload), part });
    from += taken;
  }
  return frames;
}

/**
 * Gives each body and how many records it holds; one of several leaves room to say which it is.
 * @param {LogRecord[]} records
 * @param {number} mostBytes
 * @param {ReturnTable} table
 */
function bodiesOf(records, mostBytes, table) {
  const whole = table.encodeBody(records, mostBytes);
  if (whole.taken === records.length) return records.length > 0 ? [whole] : [];
  const bodies = [];
  for (let at = 0; at < records.length;) {
    const one = table.encodeBody(records.slice(at), mostBytes - PART_BYTES);
    bodies.push(one);
    at += one.taken;
  }
  return bodies;
}

/**
 * Seals a body with a fresh random initialisation vector; the header is bound in.
 * @param {Uint8Array<ArrayBuffer>} body
 * @param {string} device
 * @param {CryptoKey} key
 * @param {(Part & {showing: number}) | null} part
 */
async function seal(body, device, key, part) {
  const header = makeHeader(device, body.length + ENVELOPE_BYTES + (part ? PART_BYTES : 0), part);
  const iv = crypto.getRandomValues(new Uint8Array(IV_BYTES));
  const sealed = await crypto.subtle.encrypt({ name: "AES-GCM", iv, additionalData: header }, key, body);
  return PREFIX + encode(Uint8Array.from([...header, ...iv, ...new Uint8Array(sealed)]));
}
