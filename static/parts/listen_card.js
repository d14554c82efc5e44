/** The card that fetches the sounds of whole sessions, says how far it is, and turns *listen only* on. */
import { choose, readChoices } from "./choices.js";
import { one } from "./elements.js";
import { allHere, fetchSounds } from "./listening.js";

const MEGABYTE = 1e6;

/**
 * Takes the card in hand.
 * @param {HTMLElement} card
 * @param {import("./begin.js").Here} here
 * @param {import("./listening.js").Session[]} sessions
 */
export function listenCard(card, { db, say }, sessions) {
  const get = /** @type {HTMLButtonElement} */ (one(card, "[data-get]"));
  const use = one(card, "[data-use]");
  const tick = /** @type {HTMLInputElement} */ (one(use, "[data-listen]"));
  const bar = /** @type {HTMLProgressElement} */ (one(card, "[data-bar]"));
  const state = one(card, "[data-listen-state]");

  /** @param {import("./choices.js").Choices} choices */
  async function show(choices) {
    const silent = choices.voice === "none";
    const here = !silent && (await allHere(db, choices, sessions));
    one(card, "[data-needs-sound]").hidden = !silent;
    use.hidden = !here;
    get.hidden = here || silent || sessions.length === 0;
    tick.checked = choices.listen;
    state.textContent = here ? say("phone.listen.ready") : "";
  }

  /** @type {import("./listening.js").OnProgress} */
  function follow(doing, done, of) {
    bar.value = of > 0 ? done / of : 0;
    const sizes = { done: (done / MEGABYTE).toFixed(1), of: (of / MEGABYTE).toFixed(1) };
    state.textContent = doing === "making" ? say("phone.listen.making") : say("phone.listen.loading", sizes);
  }

  get.addEventListener("click", async () => {
    get.disabled = true;
    bar.hidden = false;
    follow("making", 0, 1);
    const choices = await readChoices(db);
    const outcome = await fetchSounds(db, choices, sessions, follow);
    get.disabled = false;
    bar.hidden = true;
    await show(await readChoices(db)); // to use it is a choice of its own
    if (outcome !== "ready") state.textContent = say(`phone.listen.${outcome}`);
  });
  tick.addEventListener("change", () => choose(db, { listen: tick.checked }));
  return { show };
}
