// The phone's twin of the log record against the shared vectors; run by tests/formats/test_log_record.py through Node.js.

import { chain, canonical, COMMON, contentHash, digest, FIELDS, OPTIONAL, problems } from "../../static/formats/log_record.js";

/** @typedef {{name: string, record: Record<string, unknown>, canonical: string, sha256: string}} Valid */
/** @typedef {{name: string, change: Record<string, unknown>, path: string}} Invalid */
/** @typedef {{valid: Valid[], invalid: Invalid[]}} Vectors */

/** @param {Uint8Array} bytes @returns {string} */
const hex = (bytes) => Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");

/** @param {Record<string, unknown>} record @param {Record<string, unknown>} change */
function laidOver(record, change) {
  const whole = { ...record };
  for (const [name, value] of Object.entries(change)) {
    if (value === null) delete whole[name];
    else whole[name] = value;
  }
  return whole;
}

/** @returns {string[]} */
function refusedValues() {
  const values = { half: 0.5, large: 2 ** 53, true: true, null: null, nothing: undefined, lone: "\ud800", not_a_number: NaN };
  return Object.entries(values).filter(([, value]) => problems({ kind: "weather", value }).includes("")).map(([name]) => name);
}

/** @param {Vectors} vectors */
export async function report(vectors) {
  const hashes = [];
  const texts = [];
  for (const { record } of vectors.valid) {
    const bytes = canonical(record);
    texts.push(new TextDecoder().decode(bytes));
    hashes.push(await contentHash(bytes));
  }
  const first = vectors.valid[0]?.record ?? {};
  const chained = await chain(hashes);
  return {
    canonical: texts, sha256: hashes.map(hex), chain: hex(chained), digest: digest(chained), fields: FIELDS, common: COMMON,
    optional: OPTIONAL,
    valid_problems: vectors.valid.map(({ record }) => problems(record)),
    invalid_problems: vectors.invalid.map(({ change }) => problems(laidOver(first, change))),
    refused: refusedValues(),
  };
}
