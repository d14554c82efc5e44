/** The camera of this computer or phone, and in plain names why there is none. */

/** @typedef {"no_camera" | "refused" | "busy" | "insecure"} CameraTrouble */

const REASONS = /** @type {Record<string, CameraTrouble>} */ ({
  NotAllowedError: "refused", SecurityError: "refused", NotReadableError: "busy", AbortError: "busy",
});

export class CameraError extends Error {
  /** @param {CameraTrouble} trouble */
  constructor(trouble) {
    super(trouble);
    this.trouble = trouble;
  }
}

/**
 * Opens a camera, as sharp as it can.
 * @param {string} [id]  which one; else the one that looks away from the person
 * @returns {Promise<MediaStream>}
 */
export async function openCamera(id = "") {
  // an address that is not secure has no media devices at all
  if (!navigator.mediaDevices?.getUserMedia) throw new CameraError("insecure");
  const which = id ? { deviceId: { exact: id } } : { facingMode: { ideal: "environment" } };
  try {
    return await navigator.mediaDevices.getUserMedia({
      audio: false, video: { ...which, width: { ideal: 1920 }, height: { ideal: 1080 } },
    });
  } catch (error) {
    throw new CameraError(REASONS[error instanceof DOMException ? error.name : ""] ?? "no_camera");
  }
}

/** @param {MediaStream} stream */
export const closeCamera = (stream) => { for (const track of stream.getTracks()) track.stop(); };

/** Names the next camera after the one that is open; "" where there is only one. @param {MediaStream} stream */
export async function nextCamera(stream) {
  const all = (await navigator.mediaDevices.enumerateDevices()).filter(({ kind }) => kind === "videoinput");
  const open = stream.getVideoTracks()[0]?.getSettings().deviceId;
  const at = all.findIndex(({ deviceId }) => deviceId === open);
  return all.length > 1 ? (all[(at + 1) % all.length]?.deviceId ?? "") : "";
}

/** Tells whether the browser will open the camera without asking. */
export async function isAllowed() {
  try {
    return (await navigator.permissions.query({ name: /** @type {PermissionName} */ ("camera") })).state === "granted";
  } catch {
    return false; // a browser that does not know this name asks
  }
}

/** Tells whether a camera looks at the person before it, who then expects a mirror. @param {MediaStream} stream */
export const looksAtPerson = (stream) => stream.getVideoTracks()[0]?.getSettings().facingMode !== "environment";
