/** What the client wants to hear, kept on this phone; what was not chosen is as prescribed, or the usual. */
import { getMeta, setMeta } from "./log_store.js";

/**
 * @typedef {object} Choices
 * @property {import("./cue_sounds.js").Voice} voice
 * @property {import("./cue_levels.js").HowMuch} said
 * @property {boolean} vibration
 * @property {number} volume  1 or less
 * @property {boolean} listen  the whole session as one sound, the phone put away
 */

/** @type {Choices} */
export const USUAL = { voice: "both", said: "all", vibration: true, volume: 1, listen: false };

/**
 * @param {import("./log_store.js").LogStore} db
 * @returns {Promise<Choices>}
 */
export async function readChoices(db) {
  return { ...USUAL, ...(await getMeta(db, "settings")) };
}

/**
 * @param {import("./log_store.js").LogStore} db
 * @param {Partial<Choices>} chosen
 * @returns {Promise<Choices>}
 */
export async function choose(db, chosen) {
  const choices = { ...(await readChoices(db)), ...chosen };
  await setMeta(db, "settings", choices);
  return choices;
}
