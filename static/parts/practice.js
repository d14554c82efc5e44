/** The session while the cues run: player and counting together, and the draft that they make. */
import { counter } from "./counting.js";
import { keepInStep } from "./in_step.js";
import { zeroFromTap } from "./lining_up.js";
import { createPlayer } from "./player.js";
import { passedBefore } from "./session.js";

const COUNTDOWN_MS = 3000;
const REACTION_MS = 300;

/**
 * @typedef {import("./session.js").Draft} Draft
 * @typedef {import("./cue_sounds.js").Cue} Cue
 * @typedef {ReturnType<typeof createPlayer>} Player
 * @typedef {(options: import("./player.js").PlayerOptions) => Player} MakePlayer
 */

/**
 * Makes a session ready to run.
 * @param {object} of
 * @param {Draft} of.draft
 * @param {import("./cue_sounds.js").CueSheet} of.sheet
 * @param {Map<string, AudioBuffer>} of.sounds
 * @param {AudioContext} of.context
 * @param {import("./choices.js").Choices} of.choices
 * @param {number | undefined} of.reactionMs
 * @param {boolean} [of.ownSign]  whether the client taps on a sign that the unit gives
 * @param {number} [of.noticedMs]  how long after the start of a rise the client notices it; 0 unknown
 * @param {boolean} [of.unpaced]  nobody leads through the phases: no taps are asked, and only the client can count
 * @param {boolean} [of.walking]  the session starts with the tap, without a count-down
 * @param {import("./lining_up.js").Remembered | null} [of.remembered]  the unit's clock, found in an earlier session
 * @param {(cue: Cue) => void} of.onCue
 * @param {(why: string) => void} of.onStopped  the cues have stopped by themselves; only `player.resume` goes on
 * @param {() => void} of.onEnd
 * @param {MakePlayer} [of.makePlayer]
 */
export function practice(of) {
  const { draft, sheet, sounds, context, reactionMs = REACTION_MS, ownSign = false, noticedMs = 0, unpaced = false, remembered = null, onCue, onStopped, onEnd } = of;
  const { said, volume, voice: chosen } = of.choices;
  const voice = sounds.size === 0 ? "none" : chosen; // none could be loaded: then only the screen leads
  const count = counter(draft.contractions);
  const rhythm = { reactionMs, firstRiseMs: sheet.first_rise_ms, cycleMs: sheet.cycle_ms };
  let kept = { ...draft };
  let own = 0;
  const seen = () => document.visibilityState === "visible";
  /** @type {Player} */
  const player = (of.makePlayer ?? createPlayer)({
    cueSheet: sheet, clips: sounds, tones: sounds, audioContext: context, voice, said, volume, seen,
    onCue: (cue) => {
      if (voice === "none" && !seen()) count.silent();
      else count.given(cue, of.makePlayer !== undefined);
      onCue(cue);
    },
    onStall: (why) => { count.silent(); player.pause(); onStopped(why); },
    onEnd,
  });
  const beforeMs = passedBefore(draft);
  const step = sheet.drive === "cycled" && !unpaced ? keepInStep({ sheet, player, reactionMs, ownSign, noticedMs, remembered, cuedMs: beforeMs }) : null;
  const atMost = (/** @type {number} */ ms) => Math.min(draft.planned_s * 1000, Math.max(0, Math.floor(ms)));
  const cuedMs = () => atMost(draft.cued_ms + player.cuedMs());
  /** @type {number | null} */
  let heldMs = null;
  const passedMs = () => (player.state === "ready" ? beforeMs : atMost(heldMs ?? player.positionMs()));
  return {
    player,
    /** The draft with what was cued up to now. */
    latest: () => ({ ...kept, cued_ms: cuedMs(), passed_ms: passedMs(), contractions: count.counted().map((n) => n + own), ...(step ? { period_ppm: step.periodPpm() } : {}) }),
    step,
    /** @param {Partial<Draft>} changes */
    note: (changes) => { kept = { ...kept, ...changes }; },
    /** A tap: the first one starts the session, a further one says where the unit is. @param {number} tapMs */
    tap(tapMs) {
      const found = step?.tap(tapMs) ?? null;
      if (player.state === "ready") player.start(startAt(tapMs));
      kept = { ...kept, taps: [...kept.taps, Math.round(player.positionMs())] };
      return found;
    },
    /** The client did one contraction at a pace of their own. */
    countOne() { if (player.state === "running") own += 1; },
    /** Silent at once; the unit may be going on. Until more is known the session stands here. */
    hush() {
      if (player.state === "ready") return;
      if (player.state !== "paused") heldMs = player.positionMs();
      count.silent();
      player.pause();
    },
    /** The unit went on up to now while the cues were silent: those minutes have passed. */
    wentOn() { heldMs = player.positionMs(); },
    resume() {
      heldMs = null;
      player.resume();
    },
  };

  /** @param {number} tapMs */
  function startAt(tapMs) {
    const before = { ...rhythm, cuedMs: beforeMs };
    if (sheet.drive === "steady" || of.walking) return tapMs - beforeMs;
    return zeroFromTap({ ...before, reactionMs: 0, tapMs: tapMs + COUNTDOWN_MS });
  }
}
