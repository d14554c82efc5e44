/**
 * The strength is asked for once more, one channel after the other, in a rest that is long enough to answer. The question lies over
 * the picture and moves nothing; it goes with the rest, and after three rests without an answer the number of turning up stands.
 */
import { one } from "./elements.js";
import { withAt } from "./session.js";
import { keepStrength } from "./strength_keeper.js";

const LONG_ENOUGH_MS = 8000;
const MOST_RESTS = 3;

/**
 * @param {HTMLElement[]} blocks  one a channel
 * @param {object} of
 * @param {{strength: number[]}} of.draft
 * @param {import("./strings.js").T} of.say
 * @param {(strength: number[]) => void} of.onNote
 */
export function askStrengths(blocks, { draft, say, onNote }) {
  let strength = [...draft.strength];
  let next = 0;
  let rests = 0;
  blocks.forEach((block, n) => {
    const right = /** @type {HTMLButtonElement} */ (one(block, "[data-right]"));
    const kept = keepStrength(one(block, "[data-strength]"), {
      number: draft.strength[n] ?? -1, say, onChange: (_number, allowed) => { right.disabled = !allowed; },
    });
    right.addEventListener("click", () => {
      strength = withAt(strength, n, kept.number());
      onNote(strength);
      next = n + 1;
      show(next);
    });
  });

  /** @param {number} asked  the channel that is asked about; none else */
  function show(asked) {
    blocks.forEach((block, n) => { block.hidden = n !== asked; });
  }
  return {
    /** A rest begins. @param {number} lengthMs */
    inRest(lengthMs) {
      if (lengthMs < LONG_ENOUGH_MS || rests === MOST_RESTS) return;
      rests += 1;
      show(next);
    },
    /** The hand or the eye is needed for something else. */
    away: () => show(-1),
  };
}
