/** A file that a page holds is saved on this phone as a download. */

const READ_WITHIN_MS = 60_000;

/** @param {Document} page @param {File} file */
export function saveFile(page, file) {
  const link = page.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), READ_WITHIN_MS);
}
