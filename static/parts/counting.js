/** Counts the contractions that were really cued: what passed while the cues were silent is not counted. Pure. */

/**
 * @typedef {object} Counter
 * @property {(cue: {index: number, done: number[]}, whole?: boolean) => void} given  whole: what lay between was given too, unseen
 * @property {() => void} silent  the cues were silent from here on
 * @property {() => number[]} counted
 */

/**
 * @param {number[]} before  what earlier runs of this session have counted
 * @returns {Counter}
 */
export function counter(before) {
  let counted = [...before];
  /** @type {{index: number, done: number[]} | null} */
  let last = null;
  return {
    given(cue, whole = false) {
      const previous = last;
      if (previous && (whole || cue.index === previous.index + 1)) {
        counted = counted.map((n, channel) => n + (cue.done[channel] ?? 0) - (previous.done[channel] ?? 0));
      }
      last = { index: cue.index, done: [...cue.done] };
    },
    silent() { last = null; },
    counted: () => [...counted],
  };
}
