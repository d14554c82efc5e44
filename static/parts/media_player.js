/**
 * Plays a session that is one sound, on a media element: what the phone plays on when it is put away, and pauses by its own controls.
 * To be used as the player is. Lining up acts on it by how fast it plays, and by a jump only in a rest.
 *
 * @typedef {import("./player.js").PlayerOptions} PlayerOptions
 * @typedef {import("./player.js").PlayerState} PlayerState
 */
import { createCueWords } from "./cue_words.js";
import { createPlayedTime } from "./played_time.js";
import { restAt } from "./in_step.js";
import { startTicking } from "./ticking.js";

const BEGINS_WITHIN_MS = 3000;
const FROZEN_MS = 1500;
const CLOSE_MS = 30;
const JUMP_MS = 250;
const MARGIN_MS = 1500; // a jump keeps away from the cues on both sides
const MOST_SLEW = 0.01; // more can be heard
const CATCHES_UP_MS = 5000;

/** @param {Omit<PlayerOptions, "audioContext"> & {audio: HTMLAudioElement, leadMs: number}} options  leadMs: silence before the session in the sound */
export function createMediaPlayer({ cueSheet, audio, leadMs, onCue, onStall, onEnd, volume = 1, seen = () => true, now = () => performance.now() }) {
  const words = createCueWords(cueSheet, onCue);
  const played = createPlayedTime(audio, now);
  /** @type {PlayerState} */
  let state = "ready";
  let silent = false;
  let zeroMs = 0;
  let stretch = 1;
  let movedMs = 0;
  let lastS = -1;
  /** @type {(() => void) | null} */
  let stopTicking = null;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let later;
  audio.volume = Math.min(1, volume);

  const going = () => state === "running";
  const wantedMs = () => (now() - zeroMs) / stretch;
  const placeMs = () => audio.currentTime * 1000 - leadMs;
  const positionMs = () => (going() && !silent ? placeMs() : wantedMs());
  const passTime = () => played.pass({ counts: going() && words.nextMs() !== null && (!silent || seen()), sound: !silent, mostMs: wantedMs() * stretch });

  function jump() {
    audio.currentTime = Math.max(0, wantedMs() + leadMs) / 1000;
    played.look();
  }

  /** @returns {"interrupted" | "closed" | "frozen" | null} */
  function stall() {
    if (silent) return null;
    if (audio.error) return "closed";
    if (audio.currentTime !== lastS) {
      lastS = audio.currentTime;
      movedMs = now();
    }
    const patienceMs = played.hasBegun() ? FROZEN_MS : BEGINS_WITHIN_MS;
    if (audio.paused && played.hasBegun()) return "interrupted";
    return now() - movedMs > patienceMs ? "frozen" : null;
  }

  function keepStep() {
    const offMs = wantedMs() - placeMs();
    if (Math.abs(offMs) > JUMP_MS && mayJump()) jump();
    const left = wantedMs() - placeMs();
    const slew = Math.abs(left) <= CLOSE_MS ? 0 : Math.max(-MOST_SLEW, Math.min(MOST_SLEW, left / CATCHES_UP_MS));
    const rate = (1 + slew) / stretch;
    if (Math.abs(rate - audio.playbackRate) > 5e-4) audio.playbackRate = rate;
  }

  /** Whether here and there lie in the same rest, away from its cues. */
  function mayJump() {
    const rest = restAt(cueSheet, placeMs());
    const inside = (/** @type {number} */ atMs) => rest !== null && atMs > rest.fromMs + MARGIN_MS && atMs < rest.toMs - MARGIN_MS;
    return inside(placeMs()) && inside(wantedMs());
  }

  function look() {
    if (!going()) return;
    const sleptMs = passTime();
    const why = stall() ?? (silent && sleptMs > 0 ? "asleep" : null);
    if (why) {
      state = "stalled";
      audio.pause();
      onStall(why, sleptMs);
      return;
    }
    if (!silent) keepStep();
    words.say(positionMs(), going);
    if (going()) endOrWait();
  }

  function endOrWait() {
    clearTimeout(later);
    const nextMs = words.nextMs();
    if (nextMs === null) {
      finish("ended"); // the sound goes on: it holds the reminders that the unit may still be on
      onEnd?.();
      return;
    }
    later = setTimeout(look, Math.max(0, Math.min(1000, (nextMs - positionMs()) * stretch)));
  }

  function run() {
    state = "running";
    words.rewind(wantedMs());
    movedMs = now();
    lastS = -1;
    if (!silent) {
      jump();
      audio.play().catch(() => undefined); // a refusal shows as silence, and is told as such
    }
    played.begin();
    stopTicking ??= startTicking(look);
    look();
  }

  /** @param {PlayerState} as */
  function finish(as) {
    state = as;
    clearTimeout(later);
    stopTicking?.();
    stopTicking = null;
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
      zeroMs += deltaMs;
    },
    /** @param {number} zeroPerfMs @param {number} ppm */
    follow(zeroPerfMs, ppm) {
      zeroMs = zeroPerfMs;
      stretch = 1 + ppm / 1e6;
    },
    pause() {
      if (!going() && state !== "stalled") return;
      passTime();
      finish("paused");
      audio.pause();
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
      audio.pause();
    },
    /** @param {import("./cue_sounds.js").Voice} chosen  "none" lets the screen lead alone */
    setVoice(chosen) {
      silent = chosen === "none";
    },
    positionMs,
    check: look,
    cuedMs: played.totalMs,
    get state() {
      return state;
    },
  };
}
