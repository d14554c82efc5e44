/** The words of cues as their time comes. After a gap only the newest is told: each cue carries the whole count. */
import { cueAt, cueIndexAt } from "./cue_sounds.js";

const STALE_MS = 1000;

/**
 * @param {import("./cue_sounds.js").CueSheet} cueSheet
 * @param {(cue: import("./cue_sounds.js").Cue, index: number) => void} tell
 */
export function createCueWords(cueSheet, tell) {
  let next = 0;
  let told = -1;
  const last = cueSheet.cues.length - 1;

  return {
    /**
     * Tells of the cues that have come, as long as the session goes on.
     * @param {number} positionMs
     * @param {() => boolean} going
     */
    say(positionMs, going) {
      const current = cueIndexAt(cueSheet, positionMs);
      for (let index = next; index <= current && going(); index++) {
        const fresh = index === current || cueSheet.cues[index][0] > positionMs - STALE_MS;
        if (!fresh || index === told) continue;
        told = index;
        tell(cueAt(cueSheet, index), index);
      }
      next = Math.max(next, current + 1);
    },

    /**
     * Goes on from another place; the cue in force there is told where it is another one.
     * @param {number} positionMs
     */
    rewind(positionMs) {
      next = Math.max(0, cueIndexAt(cueSheet, positionMs));
    },

    /** Has the cue in force told again. */
    forget() {
      told = -1;
    },

    /** Session time of the cue to come, null after the last. */
    nextMs: () => (next > last ? null : cueSheet.cues[next][0]),
  };
}
