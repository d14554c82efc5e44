/** Base45 (RFC 9285): two bytes as three letters of the QR alphanumeric set, the lowest digit first. */

const ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

/**
 * Writes bytes as letters.
 * @param {Uint8Array} data
 */
export function encode(data) {
  let letters = "";
  for (let at = 0; at < data.length; at += 2) {
    const pair = data.subarray(at, at + 2);
    let value = pair.reduce((sum, byte) => sum * 256 + byte, 0);
    for (let n = 0; n <= pair.length; n++) {
      letters += ALPHABET.charAt(value % 45);
      value = Math.floor(value / 45);
    }
  }
  return letters;
}

/**
 * Reads bytes back; throws RangeError for a letter, a length or a group that no encoder writes.
 * @param {string} text
 */
export function decode(text) {
  /** @type {number[]} */
  const data = [];
  for (let at = 0; at < text.length; at += 3) {
    const values = Array.from(text.slice(at, at + 3), (letter) => ALPHABET.indexOf(letter));
    const value = values.reduceRight((sum, digit) => sum * 45 + digit, 0);
    const most = 256 ** (values.length - 1);
    if (values.length === 1 || values.includes(-1) || value >= most) throw new RangeError(`not base45 at letter ${at}`);
    if (values.length === 3) data.push(value >> 8);
    data.push(value & 0xff);
  }
  return Uint8Array.from(data);
}
