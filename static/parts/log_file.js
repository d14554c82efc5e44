/** The sealed log as a file: the same payloads as the codes, one a line. */

/**
 * @param {string} code  the client's code, no name
 * @param {string} day
 * @param {string[]} payloads
 */
export function logFile(code, day, payloads) {
  const lines = payloads.map((payload) => `${payload}\n`).join("");
  return new File([lines], `${code}-${day}.wattlebird.txt`, { type: "text/plain" });
}

/** Tells whether this phone can hand a file to another of its programs. @param {File} file */
export function canShare(file) {
  return navigator.canShare?.({ files: [file] }) ?? false;
}

/**
 * Hands a file over; false where the client thought better of it or the phone refused.
 * @param {File} file
 */
export async function share(file) {
  try {
    await navigator.share({ files: [file] });
    return true;
  } catch {
    return false;
  }
}
