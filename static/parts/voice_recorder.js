/** Records a voice from the microphone, sample by sample, as a WAV file of 16 bits, mono. */

/** @typedef {"refused" | "busy" | "none" | "insecure"} MicrophoneTrouble */
/**
 * @typedef {object} Recorder
 * @property {() => Promise<Uint8Array<ArrayBuffer>>} stop  ends it and gives the file
 * @property {Promise<void>} full  settles when no more is taken
 */

const MOST_SAMPLES = 480_000; // ten seconds at the usual rate, and under what the server takes
const FULL_SCALE = 32_767;

const REASONS = /** @type {Record<string, MicrophoneTrouble>} */ ({
  NotAllowedError: "refused", SecurityError: "refused", NotReadableError: "busy", AbortError: "busy",
});

export class MicrophoneError extends Error {
  /** @param {MicrophoneTrouble} trouble */
  constructor(trouble) {
    super(trouble);
    this.trouble = trouble;
  }
}

/** @returns {Promise<MediaStream>} */
async function openMicrophone() {
  // an address that is not secure has no media devices at all
  if (!navigator.mediaDevices?.getUserMedia) throw new MicrophoneError("insecure");
  try {
    return await navigator.mediaDevices.getUserMedia({
      video: false, audio: { echoCancellation: false, autoGainControl: false, noiseSuppression: true },
    });
  } catch (error) {
    throw new MicrophoneError(REASONS[error instanceof DOMException ? error.name : ""] ?? "none");
  }
}

/**
 * Starts recording; the microphone is let go of at the end.
 * @param {(level: number) => void} onLevel  the loudest of the last moment, 0 to 1
 * @returns {Promise<Recorder>}
 */
export async function startRecording(onLevel) {
  const stream = await openMicrophone();
  const context = new AudioContext();
  await context.audioWorklet.addModule(new URL("pcm_tap.js", import.meta.url));
  const source = new MediaStreamAudioSourceNode(context, { mediaStream: stream });
  const tap = new AudioWorkletNode(context, "pcm-tap", { channelCount: 1, channelCountMode: "explicit" });
  /** @type {Float32Array[]} */
  const parts = [];
  let taken = 0;
  /** @type {() => void} */
  let fill = () => {};
  const full = /** @type {Promise<void>} */ (new Promise((settle) => { fill = settle; }));
  tap.port.onmessage = ({ data }) => {
    const part = /** @type {Float32Array} */ (data);
    if (taken >= MOST_SAMPLES) { fill(); return; }
    parts.push(part);
    taken += part.length;
    onLevel(part.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0));
  };
  source.connect(tap).connect(context.destination);
  await context.resume();
  return {
    full,
    async stop() {
      for (const track of stream.getTracks()) track.stop();
      const rate = context.sampleRate;
      await context.close();
      return wavFile(parts, rate);
    },
  };
}

/**
 * Writes samples as a WAV file.
 * @param {Float32Array[]} parts
 * @param {number} rateHz
 */
export function wavFile(parts, rateHz) {
  const count = parts.reduce((sum, part) => sum + part.length, 0);
  const file = new Uint8Array(44 + 2 * count);
  const view = new DataView(file.buffer);
  const name = (/** @type {number} */ at, /** @type {string} */ text) => { file.set(new TextEncoder().encode(text), at); };
  name(0, "RIFF"); view.setUint32(4, 36 + 2 * count, true); name(8, "WAVEfmt ");
  view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
  view.setUint32(24, rateHz, true); view.setUint32(28, 2 * rateHz, true); view.setUint16(32, 2, true); view.setUint16(34, 16, true);
  name(36, "data"); view.setUint32(40, 2 * count, true);
  let at = 44;
  for (const part of parts) {
    for (const sample of part) {
      view.setInt16(at, Math.round(Math.max(-1, Math.min(1, sample)) * FULL_SCALE), true);
      at += 2;
    }
  }
  return file;
}
