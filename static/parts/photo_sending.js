/** A photo on its way to the clinic's server: made smaller here already, so that little travels. */

const LONGEST = 1600; // pixels of a side: larger photos are made smaller here already, so that little travels
const SENT_AS_IS = 1_000_000; // bytes

/** Makes a large photo smaller; what this browser can't read goes as it is, and the server says what is wrong with it. @param {Document} page @param {File} file @returns {Promise<Blob>} */
async function smaller(page, file) {
  if (file.size <= SENT_AS_IS) return file;
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = Object.assign(page.createElement("canvas"), { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
    canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    return await new Promise((done) => { canvas.toBlob((made) => done(made ?? file), "image/jpeg", 0.9); });
  } catch {
    return file;
  }
}

/**
 * Sends a photo; the server keeps nothing of the file but the picture. Throws where there is no connection.
 * @param {Document} page @param {string} address @param {string} token  the form's @param {File} file
 * @returns {Promise<{photo?: string, height?: number, problem?: string, big?: boolean}>}
 */
export async function sendPhoto(page, address, token, file) {
  const body = await smaller(page, file);
  const answer = await fetch(address, { method: "POST", body, headers: { "X-CSRFToken": token, "Content-Type": "application/octet-stream" } });
  return answer.status === 413 ? { big: true } : answer.json();
}
