/** Asks about each pad place in turn, one on each screen, and gives the answers. What was found is asked back before it counts. */
import { every, one, onPress } from "./elements.js";
import { screensOf } from "./screens.js";
import { meansNoPractice, outcome } from "./skin_rules.js";

const AS_ALWAYS = 0;
const NOT_ANSWERED = 9;

/**
 * Goes through the places of a group; what is not about the skin (pain) is left for the caller.
 * @param {HTMLElement} group
 * @param {object} of
 * @param {Record<string, string>} of.table  answer to outcome: what asks for a call says so at once, at that place
 * @param {(place: number, answer: number) => unknown} of.onAnswer
 * @param {() => unknown} of.onEnd  after the last place
 * @param {number[]} [of.answered]  what was answered before: it goes on from there
 * @returns {import("./screens.js").Screens}
 */
export function askSkin(group, { table, onAnswer, onEnd, answered = [] }) {
  const screens = screensOf(group);
  const places = every(group, "[data-step=look]");
  const at = () => places.findIndex((each) => each.dataset["place"] === screens.now().dataset["place"]);
  const screenOf = (/** @type {string} */ name) => one(group, `[data-step=${name}][data-place="${screens.now().dataset["place"]}"]`);
  let said = NOT_ANSWERED;

  let settling = false;

  async function settle() {
    if (settling) return; // pressed twice while it is kept: the next place is asked, not skipped, and nothing is noted twice
    settling = true;
    try {
      const next = places[at() + 1];
      await onAnswer(Number(screens.now().dataset["place"]), said);
      if (next) screens.show(next);
      else await onEnd();
    } finally {
      settling = false;
    }
  }
  every(group, "[data-step=sure]").forEach((step) => { step.hidden = false; });
  onPress(group, "[data-new]", () => { screens.next(); });
  onPress(group, "[data-step=what] [data-back], [data-unsure]", () => screens.show(screenOf("look")));
  onPress(group, "[data-before]", () => screens.show(places[at() - 1]));
  onPress(group, "[data-skin]", (button) => {
    said = Number(button.dataset["skin"]);
    if (said === AS_ALWAYS) return settle();
    const sure = screenOf("sure");
    one(sure, "[data-said]").textContent = button.textContent;
    const grave = meansNoPractice(outcome(table, [said]));
    const words = /** @type {HTMLTemplateElement} */ (one(group, "[data-care-words]"));
    one(sure, "[data-care]").replaceChildren(...(grave ? [words.content.cloneNode(true)] : []));
    one(sure, "[data-sure]").classList.toggle("go", !grave); // the call is what to press
    return screens.show(screenOf("sure"));
  });
  onPress(group, "[data-sure]", settle);
  const open = places.find((each) => (answered[Number(each.dataset["place"])] ?? NOT_ANSWERED) === NOT_ANSWERED);
  if (open || places.length === 0) screens.show(open);
  else onEnd();
  return screens;
}
