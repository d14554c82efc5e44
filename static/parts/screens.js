/** One step on each screen: shows a step of a group, moves the reader's focus to its heading, and goes back. */
import { every } from "./elements.js";

/**
 * @typedef {object} Screens
 * @property {HTMLElement[]} steps
 * @property {() => HTMLElement} now
 * @property {(step: HTMLElement | string | undefined) => void} show  a step, or its name
 * @property {() => boolean} next  false where the last step is shown
 * @property {() => void} back
 */

/**
 * Takes the steps of a group in hand.
 * @param {HTMLElement} group
 * @returns {Screens}
 */
export function screensOf(group) {
  const steps = every(group, "[data-step]");
  const now = () => steps.find((step) => step.hasAttribute("data-now")) ?? /** @type {HTMLElement} */ (steps[0]);
  const show = (/** @type {HTMLElement | string | undefined} */ wanted) => {
    const step = typeof wanted === "string" ? steps.find((each) => each.dataset["step"] === wanted) : wanted;
    if (!step) return;
    for (const each of steps) each.toggleAttribute("data-now", each === step);
    step.querySelector("h2")?.focus({ preventScroll: true });
    step.ownerDocument.defaultView?.scrollTo(0, 0);
  };
  const move = (/** @type {number} */ by) => {
    const target = steps[steps.indexOf(now()) + by];
    show(target);
    return target !== undefined;
  };
  return { steps, now, show, next: () => move(1), back: () => void move(-1) };
}
