/** A bare page round the player: what the tests ask of it by name. */
import { loadSounds, onsetMs, openAudio, unlock, withoutDelay } from "../../../static/parts/audio.js";
import { keepAwake } from "../../../static/parts/keep_awake.js";
import { createPlayer, schedule } from "../../../static/parts/player.js";

/** @typedef {import("../../../static/parts/cue_sounds.js").CueSheet} CueSheet */

const TAIL_MS = 5000; // a cue's words may begin after the window that the cue is in
const context = openAudio();
const log = /** @type {{words: [number, number, number][], stalls: [string, number, number][], backs: number[], ends: number, refused: string[]}} */ ({
  words: [], stalls: [], backs: [], ends: 0, refused: [],
});
/** @type {ReturnType<typeof createPlayer> | null} */
let player = null;
/** @type {Map<string, AudioBuffer>} */
let sounds = new Map();
/** @type {boolean | null} */
let unlocked = null;

/** @param {string} id */
const element = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

element("unlock").addEventListener("click", () => {
  void unlock(context).then((runs) => {
    unlocked = runs;
  });
});

/** What the start button plays, by the very tap that unlocks the sound. @type {CueSheet | null} */
let prepared = null;

element("start").addEventListener("click", () => {
  const unlocking = unlock(context);
  if (prepared) start(prepared, "both", 0);
  void unlocking;
});

/** @param {import("../../../static/parts/audio.js").SoundFile[]} list */
async function load(list) {
  const loaded = await loadSounds(context, list);
  sounds = loaded.sounds;
  return { loaded: [...sounds.keys()], failed: loaded.failed };
}

/**
 * @param {CueSheet} cueSheet
 * @param {import("../../../static/parts/cue_sounds.js").Voice} voice
 * @param {number} inMs
 */
function start(cueSheet, voice, inMs) {
  player?.stop();
  Object.assign(log, { words: [], stalls: [], backs: [], ends: 0 });
  player = createPlayer({
    cueSheet, clips: sounds, tones: sounds, audioContext: context, voice,
    onCue: (cue, index) => {
      log.words.push([index, performance.now(), player ? player.positionMs() : NaN]);
      element("words").textContent = cue.phrase.text;
    },
    onStall: (reason, gapMs) => log.stalls.push([reason, gapMs, performance.now()]),
    onBack: () => log.backs.push(performance.now()),
    onEnd: () => {
      log.ends += 1;
    },
  });
  const zeroMs = performance.now() + inMs;
  player.start(zeroMs);
  return zeroMs;
}

/** Beeps once a second by a plain timer, to be compared with. @param {number} everyMs */
function startPlainTimer(everyMs) {
  const beep = context.createBuffer(1, 2400, 24_000);
  beep.getChannelData(0).forEach((_, i, all) => {
    all[i] = 0.1 * Math.cos((2 * Math.PI * 5000 * i) / 24_000);
  });
  return setInterval(() => {
    const source = new AudioBufferSourceNode(context, { buffer: beep });
    source.connect(context.destination);
    source.start();
  }, everyMs);
}

/** Holds the page up again and again, as a phone with other things to do. @param {number} forMs @param {number} everyMs */
function holdUp(forMs, everyMs) {
  return setInterval(() => {
    const end = performance.now() + forMs;
    while (performance.now() < end);
  }, everyMs);
}

/**
 * Renders a whole cue sheet window by window; sounds are single samples, so that each can be found to the sample.
 * @param {CueSheet} cueSheet
 * @param {number} windowMs
 * @param {number} rateHz
 * @returns {Promise<[number, number][]>} place in samples and height of every sample that sounds
 */
async function render(cueSheet, windowMs, rateHz) {
  /** @param {number} height @param {number} seconds */
  const click = (height, seconds) => {
    const buffer = new AudioBuffer({ length: Math.round(seconds * rateHz), sampleRate: rateHz });
    buffer.getChannelData(0)[0] = height;
    return buffer;
  };
  const tones = new Map(cueSheet.phrases.map(({ tone }) => [tone, click(1, sounds.get(tone)?.duration ?? 1)]));
  const clips = new Map(cueSheet.phrases.map(({ clip }) => [clip, click(0.5, 1)]));
  /** @type {[number, number][]} */
  const found = [];
  for (let fromMs = 0; fromMs <= cueSheet.cues[cueSheet.cues.length - 1][0]; fromMs += windowMs) {
    const offline = new OfflineAudioContext(1, ((windowMs + TAIL_MS) * rateHz) / 1000, rateHz);
    schedule(offline, fromMs, fromMs + windowMs, { cueSheet, sounds: { clips, tones }, voice: "both" });
    const samples = (await offline.startRendering()).getChannelData(0);
    samples.forEach((sample, i) => {
      if (Math.abs(sample) > 0.01) found.push([(fromMs * rateHz) / 1000 + i, sample]);
    });
  }
  return found.sort(([one], [other]) => one - other);
}

/** Puts silence before a sound and lets the page take it off again. @param {number} delayMs @param {string} id */
function undelayed(delayMs, id) {
  const plain = /** @type {AudioBuffer} */ (sounds.get(id));
  const shift = Math.round((delayMs * plain.sampleRate) / 1000);
  const late = context.createBuffer(1, plain.length + shift, plain.sampleRate);
  late.copyToChannel(plain.getChannelData(0), 0, shift);
  const mended = withoutDelay(context, late, onsetMs(plain));
  return { late: onsetMs(late) - onsetMs(plain), mended: onsetMs(mended) - onsetMs(plain), lost: plain.length - mended.length };
}

Object.assign(window, {
  sound: {
    prepare: (/** @type {CueSheet} */ cueSheet) => {
      prepared = cueSheet;
    },
    context, log, load, start, startPlainTimer, holdUp, render, undelayed,
    player: () => player,
    isUnlocked: () => unlocked,
    keepAwake: () => keepAwake((why) => log.refused.push(why)),
  },
});
