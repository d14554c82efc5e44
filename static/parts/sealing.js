// The phone's side of the seals: keys derived from the device key, which no script can read back out.

/** @typedef {"sync" | "receipt" | "code" | "cookie"} Purpose */

/** Takes a device key in; what is given back can make seals but cannot be read. @param {Uint8Array<ArrayBuffer>} bytes */
export function rootKey(bytes) {
  return crypto.subtle.importKey("raw", bytes, "HKDF", false, ["deriveKey"]);
}

/** @param {CryptoKey} root @param {Purpose} purpose */
function derive(root, purpose) {
  const info = new TextEncoder().encode(`wattlebird ${purpose} 1`);
  return crypto.subtle.deriveKey(
    { name: "HKDF", hash: "SHA-256", salt: new Uint8Array(), info }, root,
    { name: "HMAC", hash: "SHA-256", length: 256 }, false, ["sign", "verify"]);
}

/** @param {Uint8Array} bytes */
export function toHex(bytes) {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @param {string} hex @returns {Uint8Array<ArrayBuffer>} */
export function fromHex(hex) {
  const pairs = /^([0-9a-f]{2})*$/.test(hex) ? (hex.match(/../g) ?? []) : [];
  return Uint8Array.from(pairs, (pair) => Number.parseInt(pair, 16));
}

/** Makes the seal of some bytes. @param {CryptoKey} root @param {Purpose} purpose @param {Uint8Array<ArrayBuffer>} bytes */
export async function seal(root, purpose, bytes) {
  return toHex(new Uint8Array(await crypto.subtle.sign("HMAC", await derive(root, purpose), bytes)));
}

/** @param {CryptoKey} root @param {Purpose} purpose @param {Uint8Array<ArrayBuffer>} bytes @param {string} hex */
export async function sealIsRight(root, purpose, bytes, hex) {
  return crypto.subtle.verify("HMAC", await derive(root, purpose), fromHex(hex), bytes);
}
