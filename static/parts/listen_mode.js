/** Listen only, on the timer: the session as one sound, so that the phone can be put away; its own controls pause and stop. */
import { choose } from "./choices.js";
import { soundAddress } from "./listening.js";
import { mediaControls } from "./media_controls.js";
import { createMediaPlayer } from "./media_player.js";

const LEAD_MS = 5000; // silence that the server put before the session

/**
 * @typedef {object} ListenMode
 * @property {boolean} on
 * @property {import("./practice.js").MakePlayer} [makePlayer]
 * @property {() => Promise<unknown>} turn  turns it on or off for the sessions to come
 * @property {(title: string, page: Document) => void} takeControls
 */

/**
 * Looks for the sound of a session; null where this phone has none.
 * @param {import("./log_store.js").LogStore} db
 * @param {import("./choices.js").Choices} choices
 * @param {import("./listening.js").Session} session
 * @returns {Promise<ListenMode | null>}
 */
export async function listenMode(db, choices, session) {
  const address = choices.voice === "none" ? null : await soundAddress(db, choices, session);
  if (!address) return null;
  const turn = () => choose(db, { listen: !choices.listen });
  if (!choices.listen) return { on: false, turn, takeControls: () => undefined };
  const audio = new Audio(address);
  audio.preload = "auto";
  return {
    on: true, turn,
    makePlayer: (options) => createMediaPlayer({ ...options, audio, leadMs: LEAD_MS }),
    takeControls: (title, page) => takeControls(audio, title, page),
  };
}

/**
 * Has the phone's controls press the page's own buttons: pause there asks what the unit does, as it does here.
 * @param {HTMLAudioElement} audio
 * @param {string} title
 * @param {Document} page
 */
function takeControls(audio, title, page) {
  const press = (/** @type {string} */ selector) => {
    const button = /** @type {HTMLElement | undefined} */ ([...page.querySelectorAll(selector)].find((each) => each.checkVisibility()));
    button?.click();
  };
  const controls = mediaControls({
    title,
    onPlay: () => press("dialog[open] :is([data-go-on], [data-pause-view]:not([hidden]) [data-close])"),
    onPause: () => press("[data-pause]"),
    onStop: () => press("[data-open=stop]"),
  });
  audio.addEventListener("play", () => controls.shows("playing"));
  audio.addEventListener("pause", () => controls.shows("paused"));
}
