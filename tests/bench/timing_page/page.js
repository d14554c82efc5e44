/** Three ways to keep time side by side, each with a pitch of its own: the player, a plain interval, a chain of corrected timeouts. */
import { openAudio, unlock } from "../../../static/parts/audio.js";
import { createPlayer } from "../../../static/parts/player.js";

/** @typedef {{everyMs: number, count: number, hz: {player: number, interval: number, chain: number}, apartMs: number, inMs: number, blockMs: number}} Run */

const context = openAudio();
const timing = {
  unlocked: false, zeroMs: 0, ended: false, stalls: /** @type {string[]} */ ([]), words: 0, context,
  run: /** @type {Run | null} */ (null),
};

/** A short burst of one pitch. @param {number} hz */
function burst(hz) {
  const { sampleRate } = context;
  const buffer = context.createBuffer(1, Math.round(0.06 * sampleRate), sampleRate);
  buffer.getChannelData(0).forEach((_, i, all) => { all[i] = 0.12 * Math.cos((2 * Math.PI * hz * i) / sampleRate); });
  return buffer;
}

/** @param {AudioBuffer} buffer */
function beep(buffer) {
  const source = new AudioBufferSourceNode(context, { buffer });
  source.connect(context.destination);
  source.start();
}

/** @param {Run} run */
function play({ everyMs, count, hz, apartMs, inMs, blockMs }) {
  const cues = Array.from({ length: count }, (_, n) => [n * everyMs, 0, (n + 1) * everyMs, n + 1, 1, 0, 0, 0, 0]);
  const player = createPlayer({
    cueSheet: {
      format: "wattlebird.cue_sheet/1", exercise: 1, drive: "cycled", session_ms: count * everyMs, cycle_ms: everyMs, first_rise_ms: 0,
      at_end: "cut", may_run_on_ms: 0, channels: [], cues,
      phrases: [{ tone: "rise", channels: [1], phase: "rise", text: "Up", clip: "", seconds: true }],
    },
    clips: new Map(), tones: new Map([["rise", burst(hz.player)]]), audioContext: context, voice: "tones",
    onCue: () => { timing.words += 1; },
    onStall: (why) => { timing.stalls.push(why); },
    onEnd: () => { timing.ended = true; },
  });
  timing.zeroMs = performance.now() + inMs;
  player.start(timing.zeroMs);
  plainInterval(burst(hz.interval), everyMs, count, inMs + apartMs);
  correctedChain(burst(hz.chain), everyMs, count, timing.zeroMs + 2 * apartMs);
  if (blockMs > 0) holdUp(blockMs);
}

/** @param {AudioBuffer} buffer @param {number} everyMs @param {number} count @param {number} inMs */
function plainInterval(buffer, everyMs, count, inMs) {
  let n = 1;
  setTimeout(() => {
    beep(buffer);
    const timer = setInterval(() => {
      if (n < count) beep(buffer);
      if ((n += 1) >= count) clearInterval(timer);
    }, everyMs);
  }, inMs);
}

/** @param {AudioBuffer} buffer @param {number} everyMs @param {number} count @param {number} firstMs */
function correctedChain(buffer, everyMs, count, firstMs) {
  let n = 0;
  const next = () => {
    beep(buffer);
    n += 1;
    if (n < count) setTimeout(next, firstMs + n * everyMs - performance.now());
  };
  setTimeout(next, firstMs - performance.now());
}

/** Holds the page up at random moments, until the run ends. @param {number} forMs */
function holdUp(forMs) {
  const end = performance.now() + forMs;
  while (performance.now() < end);
  if (!timing.ended) setTimeout(() => holdUp(forMs), 400 + 2400 * Math.random());
}

/** @type {HTMLElement} */ (document.getElementById("start")).addEventListener("click", () => {
  const unlocking = unlock(context);
  if (timing.run) play(timing.run);
  void unlocking.then((runs) => { timing.unlocked = runs; });
});

Object.assign(window, { timing });
