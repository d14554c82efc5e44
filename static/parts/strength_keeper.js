/** The number on the unit, kept by minus and plus in the unit's own steps. Above the ceiling it says so. */
import { one, onPress } from "./elements.js";

/**
 * One press of minus or plus; what was not noted yet counts from 0, as the unit does.
 * @param {number} number  -1 not noted yet
 * @param {number} by  steps, + or -
 * @param {{step: number}} of
 * @returns {number}
 */
export function pressed(number, by, { step }) {
  const next = Math.max(0, number) + by * step;
  return Math.max(0, Math.round(next * 100) / 100);
}

/**
 * Takes one block of minus, number and plus in hand.
 * @param {HTMLElement} block
 * @param {{number: number, say: import("./strings.js").T, onChange?: (number: number, allowed: boolean) => void}} of
 */
export function keepStrength(block, { number: first, say, onChange }) {
  const step = Number(block.dataset["stepSize"]);
  const ceiling = Number(block.dataset["ceiling"]);
  let number = first;
  const allowed = () => number <= ceiling;
  const usual = one(block, "[data-limit]").textContent; // how high the plan goes, where the page says so from the start
  const show = () => {
    one(block, "[data-number]").textContent = number < 0 ? say("phone.strength.none") : String(number);
    const limit = one(block, "[data-limit]");
    if (!allowed()) limit.textContent = say("phone.strength.above", { n: ceiling });
    else limit.textContent = number === ceiling ? say("phone.strength.at", { n: ceiling }) : usual;
    block.classList.toggle("above", !allowed());
    onChange?.(number, allowed());
  };
  onPress(block, "[data-less]", () => { number = pressed(number, -1, { step }); show(); });
  onPress(block, "[data-more]", () => { number = pressed(number, 1, { step }); show(); });
  show();
  return {
    number: () => number,
    set: (/** @type {number} */ wanted) => { number = wanted; show(); },
    allowed,
    ask: (/** @type {string} */ words) => { one(block, "[data-limit]").textContent = words; },
  };
}
