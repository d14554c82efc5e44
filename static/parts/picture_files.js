/** Codes in pictures and videos that were chosen or dropped, and the lines of a log's own file. */

import { lookAt, Pixels, WAYS_N } from "./code_reader.js";

const STEP_S = 0.2; // a code stays for 0.4 s or more
const MOST_SIDE = 2560; // a picture of a modern phone is larger than any code needs
const MOST_LOG_BYTES = 1_000_000;

/** @typedef {{texts: string[], isLog: boolean, isTooLarge: boolean}} FileContent */

/** @param {Blob} file @returns {Promise<string[]>} */
async function ofPicture(file) {
  const bitmap = await createImageBitmap(file);
  const shrink = Math.max(1, Math.max(bitmap.width, bitmap.height) / MOST_SIDE);
  const [width, height, pixels] = [bitmap.width / shrink, bitmap.height / shrink, new Pixels()];
  const found = new Set();
  for (let way = 0; way < WAYS_N; way += 1) {
    for (const text of (await lookAt(pixels, bitmap, width, height, way)).texts) found.add(text);
  }
  bitmap.close();
  return [...found];
}

/** @param {HTMLVideoElement} video @param {number} atS */
function seek(video, atS) {
  return new Promise((done, fail) => {
    video.addEventListener("seeked", () => done(null), { once: true });
    video.addEventListener("error", () => fail(new Error("not a video")), { once: true });
    video.currentTime = atS;
  });
}

/** Gives the length of a video; some recorders do not write it. @param {HTMLVideoElement} video */
async function lengthOf(video) {
  if (!Number.isFinite(video.duration)) await seek(video, 1e7);
  return Number.isFinite(video.duration) ? video.duration : video.currentTime;
}

/** @param {File} file @param {HTMLVideoElement} video  an element that shows nothing @returns {Promise<string[]>} */
async function ofVideo(file, video) {
  const address = URL.createObjectURL(file);
  const found = new Set();
  try {
    const loaded = new Promise((done, fail) => {
      video.addEventListener("loadeddata", done, { once: true });
      video.addEventListener("error", () => fail(new Error("not a video")), { once: true });
    });
    video.src = address;
    await loaded;
    const [endsS, pixels] = [await lengthOf(video), new Pixels()];
    for (let atS = 0, way = 0; atS < endsS; atS += STEP_S, way += 1) {
      await seek(video, atS);
      const { texts } = await lookAt(pixels, video, video.videoWidth, video.videoHeight, way);
      for (const text of texts) found.add(text);
    }
  } finally {
    video.removeAttribute("src");
    video.load();
    URL.revokeObjectURL(address);
  }
  return [...found];
}

/**
 * Reads what is in a file; an empty list where it holds no code. A log's own lines are given as they are: the server
 * says what is wrong with one.
 * @param {File} file @param {HTMLVideoElement} video @returns {Promise<FileContent>}
 */
export async function contentOf(file, video) {
  const isSeen = /^(image|video)\//.test(file.type);
  if (!isSeen && file.size > MOST_LOG_BYTES) return { texts: [], isLog: true, isTooLarge: true };
  if (!isSeen) {
    const lines = (await file.text()).split(/\r?\n/).map((line) => line.trimEnd()).filter(Boolean);
    return { texts: lines.some((line) => line.startsWith("WB:")) ? lines : [], isLog: true, isTooLarge: false };
  }
  const read = file.type.startsWith("image/") ? ofPicture(file) : ofVideo(file, video);
  return { texts: await read.catch(() => []), isLog: false, isTooLarge: false };
}
