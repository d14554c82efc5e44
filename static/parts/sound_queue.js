/**
 * The sounds that lie ahead: placed on the audio clock, moved until they begin, taken back when the session is.
 *
 * @typedef {import("./cue_sounds.js").CueSheet} CueSheet
 * @typedef {import("./cue_sounds.js").Placed} Placed
 * @typedef {import("./cue_sounds.js").Sounds} Sounds
 * @typedef {import("./cue_sounds.js").Voice} Voice
 */
import { cueAt, cueIndexAt, placeCue } from "./cue_sounds.js";

const AHEAD_MS = 120_000;
const LATE_S = 0.5;
const OFF_S = 0.004;
/** The audio thread may be this far ahead of `currentTime`: a sound nearer than that counts as begun. */
const BEGUN_S = 0.1;
/** A cue that has sounded does not sound again within this time when the zero is moved. */
const AGAIN_S = 1.5;
const FADE_S = 0.02;

/** @param {{context: AudioContext, cueSheet: CueSheet, sounds: Sounds, volume?: number}} parts  volume: 1 or less, more would clip */
export function createSoundQueue({ context, cueSheet, sounds, volume = 1 }) {
  /** @type {Map<number, Placed>} not begun */
  const ahead = new Map();
  /** @type {Placed[]} begun, newest last */
  let begun = [];
  let next = 0;
  let output = newOutput();

  function newOutput() {
    const gain = new GainNode(context, { gain: Math.min(1, volume) });
    gain.connect(context.destination);
    return gain;
  }

  /** @param {Placed} placed */
  function take(placed) {
    for (const source of placed.sources) {
      source.stop();
      source.disconnect();
    }
    ahead.delete(placed.index);
  }

  function passBegun() {
    const nowS = context.currentTime;
    for (const placed of ahead.values()) {
      if (placed.whenS > nowS + BEGUN_S) continue;
      ahead.delete(placed.index);
      begun.push(placed);
    }
    begun = begun.filter((placed) => placed.endS + AGAIN_S > nowS);
  }

  /**
   * @param {number} index
   * @param {number} whenS
   */
  const heardJustNow = (index, whenS) => begun.some((one) => one.index === index && Math.abs(one.whenS - whenS) < AGAIN_S);

  /**
   * @param {number} index
   * @param {number} whenS
   * @param {Voice} voice
   */
  function place(index, whenS, voice) {
    const nowS = context.currentTime;
    if (whenS < nowS - LATE_S || heardJustNow(index, whenS)) return;
    const placed = placeCue(context, output, cueAt(cueSheet, index), Math.max(whenS, nowS), sounds, voice);
    if (placed) ahead.set(index, placed);
  }

  return {
    /**
     * Moves what lies off its time and places what has come within reach.
     * @param {number} positionMs
     * @param {(atMs: number) => number} toContextS
     * @param {Voice} voice
     */
    keepUp(positionMs, toContextS, voice) {
      passBegun();
      for (const placed of [...ahead.values()]) {
        const whenS = toContextS(cueSheet.cues[placed.index][0]);
        if (Math.abs(whenS - placed.whenS) <= OFF_S) continue;
        take(placed);
        place(placed.index, whenS, voice);
      }
      while (next < cueSheet.cues.length && cueSheet.cues[next][0] <= positionMs + AHEAD_MS) {
        place(next, toContextS(cueSheet.cues[next][0]), voice);
        next += 1;
      }
    },

    /** Takes back everything that has not begun. */
    clear() {
      passBegun();
      for (const placed of [...ahead.values()]) take(placed);
    },

    /**
     * Looks for cues to place from here on.
     * @param {number} positionMs
     */
    rewind(positionMs) {
      next = cueIndexAt(cueSheet, positionMs - LATE_S * 1000) + 1;
    },

    /** Silences what sounds (with a short fade, so that it does not click) and takes back the rest. */
    silence() {
      this.clear();
      const nowS = context.currentTime;
      output.gain.setTargetAtTime(0, nowS, FADE_S / 4);
      for (const placed of begun) for (const source of placed.sources) source.stop(nowS + FADE_S);
      begun = [];
      output = newOutput();
    },

    /** Tells whether nothing sounds or lies ahead. */
    silent() {
      passBegun();
      const heardS = context.currentTime - (context.outputLatency || 0);
      return ahead.size === 0 && begun.every((placed) => placed.endS <= heardS);
    },
  };
}
