/**
 * Cues as sounds: which sounds a cue has, and putting them on the clock of any audio context.
 *
 * @typedef {"voice" | "tones" | "both" | "none"} Voice
 * @typedef {{tone: string, channels: number[], phase: string, text: string, clip: string, seconds: boolean}} Phrase
 * @typedef {{channel: number, contractions: number, on_ms: number, hill: number[][]}} ChannelSheet
 * @typedef {{
 *   format: string, exercise: number, drive: string,
 *   session_ms: number, cycle_ms: number, first_rise_ms: number, at_end: string, may_run_on_ms: number,
 *   channels: ChannelSheet[],
 *   phrases: Phrase[],
 *   cues: number[][],
 *   less_said?: {work: number[][], milestones: number[][]},
 * }} CueSheet `wattlebird.cue_sheet/1`; a row of `cues` is at_ms, phrase, until_ms, cycle, said, done_1, done_2, on_ms_1, on_ms_2;
 *   a row of `less_said` is at_ms, phrase, said
 * @typedef {{
 *   index: number, atMs: number, untilMs: number, cycle: number, said: number, done: number[], onMs: number[], phrase: Phrase,
 * }} Cue
 * @typedef {{clips: Map<string, AudioBuffer>, tones: Map<string, AudioBuffer>}} Sounds
 * @typedef {{index: number, whenS: number, endS: number, sources: AudioBufferSourceNode[]}} Placed
 */

export const GAP_S = 0.12;

/**
 * Reads one row of a cue sheet.
 * @param {CueSheet} sheet
 * @param {number} index
 * @returns {Cue}
 */
export function cueAt(sheet, index) {
  const [atMs, phrase, untilMs, cycle, said, done1, done2, onMs1, onMs2] = sheet.cues[index];
  return { index, atMs, untilMs, cycle, said, done: [done1, done2], onMs: [onMs1, onMs2], phrase: sheet.phrases[phrase] };
}

/**
 * Finds the row in force at a time of the session: the last that has begun, −1 before the first.
 * @param {CueSheet} sheet
 * @param {number} positionMs
 */
export function cueIndexAt(sheet, positionMs) {
  let low = 0;
  let high = sheet.cues.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sheet.cues[middle][0] <= positionMs) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/**
 * Says which sounds a cue has and how long after the cue each begins.
 * @param {Cue} cue
 * @param {Sounds} sounds
 * @param {Voice} voice
 * @returns {{buffer: AudioBuffer, afterS: number}[]}
 */
export function soundsOf(cue, sounds, voice) {
  if (voice === "none" || cue.said === 0) return [];
  const tone = voice === "voice" ? undefined : sounds.tones.get(cue.phrase.tone);
  const clip = voice === "tones" || cue.said < 2 ? undefined : sounds.clips.get(cue.phrase.clip);
  const found = [];
  if (tone) found.push({ buffer: tone, afterS: 0 });
  if (clip) found.push({ buffer: clip, afterS: tone ? tone.duration + GAP_S : 0 });
  return found;
}

/**
 * Puts a cue's sounds on a context's clock; null where it has none.
 * @param {BaseAudioContext} context
 * @param {AudioNode} output
 * @param {Cue} cue
 * @param {number} whenS
 * @param {Sounds} sounds
 * @param {Voice} voice
 * @returns {Placed | null}
 */
export function placeCue(context, output, cue, whenS, sounds, voice) {
  const parts = soundsOf(cue, sounds, voice);
  if (parts.length === 0) return null;
  const sources = parts.map(({ buffer, afterS }) => {
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(output);
    source.start(Math.max(0, whenS + afterS));
    return source;
  });
  const last = parts[parts.length - 1];
  return { index: cue.index, whenS, endS: whenS + last.afterS + last.buffer.duration, sources };
}

/**
 * Schedules every cue of [fromMs, toMs) on any context: session time `fromMs` is the context's time 0.
 * @param {BaseAudioContext} context
 * @param {number} fromMs
 * @param {number} toMs
 * @param {{cueSheet: CueSheet, sounds: Sounds, voice: Voice}} what
 * @returns {Placed[]}
 */
export function schedule(context, fromMs, toMs, { cueSheet, sounds, voice }) {
  const placed = [];
  for (let index = cueIndexAt(cueSheet, fromMs - 1) + 1; index < cueSheet.cues.length; index++) {
    const cue = cueAt(cueSheet, index);
    if (cue.atMs >= toMs) break;
    const sound = placeCue(context, context.destination, cue, (cue.atMs - fromMs) / 1000, sounds, voice);
    if (sound) placed.push(sound);
  }
  return placed;
}
