/**
 * The phone's sound: opening it, unlocking it by a tap, decoding the pack's sounds.
 *
 * @typedef {{id: string, url: string, onset_ms: number}} SoundFile
 */

const ONSET_SHARE = 0.01; // −40 dB of the peak, as the server measures it
const RUNS_WITHIN_MS = 1500;

/** Makes the audio context; on phones with a silent switch it asks to be played all the same. */
export function openAudio() {
  const session = /** @type {{type: string} | undefined} */ (Reflect.get(navigator, "audioSession"));
  if (session) session.type = "playback";
  return new AudioContext({ latencyHint: "playback" });
}

/**
 * Unlocks sound; to be called inside a tap's handler. Plays one silent sample, which some phones want besides `resume`.
 * @param {AudioContext} context
 * @returns {Promise<boolean>} whether sound runs
 */
export async function unlock(context) {
  const silence = new AudioBufferSourceNode(context, { buffer: context.createBuffer(1, 1, 24_000) });
  silence.connect(context.destination);
  silence.start();
  const resumed = context.resume().catch(() => undefined);
  await Promise.race([resumed, new Promise((done) => setTimeout(done, RUNS_WITHIN_MS))]);
  return context.state === "running";
}

/**
 * Decodes through the callback form, which old phones have only; the context gets a copy, since decoding empties what it is given.
 * @param {BaseAudioContext} context
 * @param {ArrayBuffer} bytes
 * @returns {Promise<AudioBuffer>}
 */
export function decode(context, bytes) {
  return new Promise((done, failed) => {
    const promised = context.decodeAudioData(bytes.slice(0), done, failed);
    promised?.then(done, failed);
  });
}

/**
 * Finds the first sample within 40 dB of the peak, in ms.
 * @param {AudioBuffer} buffer
 */
export function onsetMs(buffer) {
  const samples = buffer.getChannelData(0);
  const peak = samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
  const first = samples.findIndex((sample) => Math.abs(sample) > peak * ONSET_SHARE);
  return (Math.max(0, first) * 1000) / buffer.sampleRate;
}

/**
 * Cuts off the silence that this phone's decoder put before the sound, so that it begins where the server measured it.
 * @param {BaseAudioContext} context
 * @param {AudioBuffer} buffer
 * @param {number} expectedOnsetMs
 */
export function withoutDelay(context, buffer, expectedOnsetMs) {
  const delayMs = onsetMs(buffer) - expectedOnsetMs;
  const cut = Math.round((delayMs * buffer.sampleRate) / 1000);
  if (delayMs < 2 || cut >= buffer.length) return buffer;
  const trimmed = context.createBuffer(1, buffer.length - cut, buffer.sampleRate);
  trimmed.copyToChannel(buffer.getChannelData(0).subarray(cut), 0);
  return trimmed;
}

/**
 * Loads and decodes the sounds of a pack. One that fails is named; the rest still play.
 * @param {BaseAudioContext} context
 * @param {SoundFile[]} list
 * @param {(url: string) => Promise<Response>} [get]
 * @returns {Promise<{sounds: Map<string, AudioBuffer>, failed: string[]}>}
 */
export async function loadSounds(context, list, get = (url) => fetch(url)) {
  /** @type {Map<string, AudioBuffer>} */
  const sounds = new Map();
  /** @type {string[]} */
  const failed = [];
  const loading = list.map(async ({ id, url, onset_ms }) => {
    try {
      const answer = await get(url);
      if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
      sounds.set(id, withoutDelay(context, await decode(context, await answer.arrayBuffer()), onset_ms));
    } catch {
      failed.push(id);
    }
  });
  await Promise.all(loading);
  return { sounds, failed };
}

/**
 * Plays a sound once, for "did you hear it?".
 * @param {AudioContext} context
 * @param {AudioBuffer} buffer
 * @returns {Promise<void>}
 */
export function playOnce(context, buffer) {
  return new Promise((done) => {
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(context.destination);
    source.onended = () => done();
    source.start();
  });
}
