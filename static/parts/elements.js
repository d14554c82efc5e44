/** Finding elements of a page that must be there; a missing one is named in the error. */

/**
 * Finds one element inside another.
 * @param {ParentNode} root
 * @param {string} selector
 * @returns {HTMLElement}
 */
export function one(root, selector) {
  const found = root.querySelector(selector);
  if (!found) throw new Error(`not on this page: ${selector}`);
  return /** @type {HTMLElement} */ (found);
}

/**
 * Finds every element inside another.
 * @param {ParentNode} root
 * @param {string} selector
 * @returns {HTMLElement[]}
 */
export function every(root, selector) {
  return /** @type {HTMLElement[]} */ ([...root.querySelectorAll(selector)]);
}

/**
 * Keeps what a page shows for one exercise, and takes the other exercises' parts away.
 * @param {ParentNode} root
 * @param {number} exercise
 * @returns {HTMLElement}
 */
export function only(root, exercise) {
  for (const part of every(root, "[data-for-exercise]")) if (Number(part.dataset["forExercise"]) !== exercise) part.remove();
  return one(root, "[data-for-exercise]");
}

/**
 * Does something at each press of the elements that match.
 * @param {ParentNode} root
 * @param {string} selector
 * @param {(element: HTMLElement, event: Event) => unknown} act
 */
export function onPress(root, selector, act) {
  for (const element of every(root, selector)) element.addEventListener("click", (event) => { act(element, event); });
}

/**
 * Makes an element with a class and a text.
 * @param {Document} page
 * @param {string} tag
 * @param {string} [looks]  its classes
 * @param {string} [text]
 * @returns {HTMLElement}
 */
export function make(page, tag, looks = "", text = "") {
  const made = page.createElement(tag);
  if (looks) made.className = looks;
  if (text) made.textContent = text;
  return made;
}

/**
 * Makes a link that looks like a button.
 * @param {Document} page
 * @param {string} href
 * @param {string} text
 * @param {string} [looks]
 */
export function linkButton(page, href, text, looks = "btn go") {
  const link = /** @type {HTMLAnchorElement} */ (make(page, "a", looks, text));
  link.setAttribute("href", href);
  return link;
}

/** A tick that is only seen: the words beside it say the same. @param {Document} page */
export function doneTick(page) {
  const tick = make(page, "span", "tick done", "✓");
  tick.setAttribute("aria-hidden", "true");
  return tick;
}
