/**
 * Plays a cue sheet against a clock: sounds on the audio clock, words and picture by callback, both from the same wall time.
 *
 * Sounds are placed up to two minutes ahead, so they come even where the page's timers are held up, and are moved until they begin
 * whenever the audio clock or the session's zero has moved. What was missed is skipped, never played afterwards.
 *
 * @typedef {import("./cue_sounds.js").CueSheet} CueSheet
 * @typedef {import("./cue_sounds.js").Cue} Cue
 * @typedef {import("./cue_sounds.js").Voice} Voice
 * @typedef {import("./audio_clock.js").Stall} Stall
 * @typedef {"ready" | "running" | "stalled" | "paused" | "ended" | "stopped"} PlayerState
 * @typedef {{
 *   cueSheet: CueSheet, clips: Map<string, AudioBuffer>, tones: Map<string, AudioBuffer>, audioContext: AudioContext,
 *   now?: () => number, voice?: Voice, said?: import("./cue_levels.js").HowMuch, volume?: number, seen?: () => boolean,
 *   onCue: (cue: Cue, index: number) => void, onStall: (reason: Stall | "asleep", gapMs: number) => void,
 *   onBack?: () => void, onEnd?: () => void,
 * }} PlayerOptions `seen` tells whether the screen can be looked at: without sound only that gives a cue
 */
import { createAudioClock } from "./audio_clock.js";
import { soundSheet } from "./cue_levels.js";
import { createCueWords } from "./cue_words.js";
import { createGivenTime } from "./given_time.js";
import { createSoundQueue } from "./sound_queue.js";
import { startTicking } from "./ticking.js";

export { cueAt, cueIndexAt, schedule } from "./cue_sounds.js";

const WAKES_WITHIN_MS = 1000; // sound may come up a moment after the tap that starts it

/** @param {PlayerOptions} options */
export function createPlayer(options) {
  const { cueSheet, clips, tones, audioContext, onCue, onStall, onBack, onEnd, volume = 1, seen = () => true } = options;
  const now = options.now ?? (() => performance.now());
  const clock = createAudioClock(audioContext, now);
  const given = createGivenTime(audioContext, now);
  const words = createCueWords(cueSheet, onCue);
  const queue = createSoundQueue({ context: audioContext, cueSheet: soundSheet(cueSheet, options.said), sounds: { clips, tones }, volume });

  /** @type {PlayerState} */
  let state = "ready";
  let voice = options.voice ?? "both";
  let zeroMs = 0;
  let stretch = 1;
  let ranMs = 0;
  /** @type {(() => void) | null} */
  let stopTicking = null;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let later;

  const going = () => state === "running" || state === "stalled";
  const positionMs = () => (now() - zeroMs) / stretch;
  /** @param {number} atMs */
  const dueMs = (atMs) => zeroMs + atMs * stretch;

  const passTime = () =>
    given.pass({ counts: state === "running" && words.nextMs() !== null && (voice !== "none" || seen()), sound: voice !== "none", mostMs: positionMs() * stretch });

  /** @param {Stall | null} why */
  function noteStall(why) {
    if (why && state === "running") {
      if (now() - ranMs < WAKES_WITHIN_MS) return;
      state = "stalled";
      queue.silence();
      onStall(why, 0);
    } else if (!why && state === "stalled") {
      state = "running";
      queue.rewind(positionMs());
      onBack?.();
    }
  }

  /** @param {boolean} steady */
  function look(steady) {
    if (!going()) return;
    const sleptMs = passTime();
    const why = voice === "none" ? null : clock.stall(steady);
    noteStall(why);
    if (sleptMs > 0 && state === "running") {
      onStall("asleep", sleptMs);
      onBack?.();
    }
    if (state === "running" && voice !== "none" && !why) {
      clock.look();
      queue.keepUp(positionMs(), (atMs) => clock.toContextS(dueMs(atMs)), voice);
    }
    words.say(positionMs(), going);
    if (going()) endOrWait();
  }

  function endOrWait() {
    clearTimeout(later);
    const nextMs = words.nextMs();
    if (nextMs === null && (state === "stalled" || queue.silent())) {
      finish("ended");
      onEnd?.();
      return;
    }
    const untilMs = nextMs === null ? 1000 : dueMs(nextMs) - now();
    later = setTimeout(() => look(false), Math.max(0, Math.min(1000, untilMs)));
  }

  /** Begins or goes on from the place where the clock stands. */
  function run() {
    state = "running";
    ranMs = now();
    given.begin();
    replace();
    stopTicking ??= startTicking(() => look(true));
    audioContext.addEventListener("statechange", check);
    look(false);
  }

  /** Takes back what has not begun and finds the place anew. */
  function replace() {
    queue.clear();
    queue.rewind(positionMs());
    words.rewind(positionMs());
  }

  /** @param {PlayerState} as */
  function finish(as) {
    state = as;
    clearTimeout(later);
    stopTicking?.();
    stopTicking = null;
    audioContext.removeEventListener("statechange", check);
  }

  function check() {
    look(false);
  }

  return {
    /** @param {number} zeroPerfMs */
    start(zeroPerfMs) {
      if (state !== "ready") throw new Error(`a player that is ${state} cannot start`);
      zeroMs = zeroPerfMs;
      run();
    },

    /** @param {number} deltaMs */
    shift(deltaMs) {
      this.follow(zeroMs + deltaMs, (stretch - 1) * 1e6);
    },

    /**
     * @param {number} zeroPerfMs
     * @param {number} ppm how much longer than nominal the unit's seconds are
     */
    follow(zeroPerfMs, ppm) {
      zeroMs = zeroPerfMs;
      stretch = 1 + ppm / 1e6;
      if (!going()) return;
      replace();
      look(false);
    },

    pause() {
      if (!going()) return;
      passTime();
      finish("paused");
      queue.silence();
    },

    /** @param {number} [zeroPerfMs] */
    resume(zeroPerfMs) {
      if (state !== "paused") return;
      if (zeroPerfMs !== undefined) zeroMs = zeroPerfMs;
      words.forget();
      run();
    },

    stop() {
      if (going()) passTime();
      finish("stopped");
      queue.silence();
    },

    /** @param {Voice} chosen */
    setVoice(chosen) {
      voice = chosen;
      if (!going()) return;
      replace();
      look(false);
    },

    positionMs,
    check,
    cuedMs: given.totalMs,
    get state() {
      return state;
    },
  };
}
