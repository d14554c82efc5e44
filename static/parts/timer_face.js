/** What the timer shows: the words, the dot on the hill, the seconds, how many are left. It is given elements, and draws them. */
import { every, one } from "./elements.js";
import { cyclePlace, heightAt } from "./hill_dot.js";

const WIDTH = 320;
const NONE = "\u00a0";
const PASSED_OVER_MS = 3000; // a rest between two channels: its words would only flash
const STILL_STEP_MS = 1000; // where less motion is wanted the dot moves once a second

/**
 * @typedef {import("./cue_sounds.js").Cue} Cue
 * @typedef {import("./cue_sounds.js").CueSheet} CueSheet
 */

/**
 * Takes the timer's elements in hand.
 * @param {HTMLElement} timer
 * @param {HTMLElement} eyebrow
 * @param {CueSheet} sheet
 * @param {import("./strings.js").T} say
 * @param {boolean} still  whether less motion is wanted
 * @param {boolean} timeOnly  nothing is led: the whole time is counted down, and no contractions
 */
export function timerFace(timer, eyebrow, sheet, say, still, timeOnly) {
  const words = one(timer, "[data-words]");
  const seconds = one(timer, "[data-seconds]");
  const left = one(timer, "[data-left]");
  const word = one(timer, "[data-seconds-word]");
  const dots = every(timer, "[data-hill]").map((svg, n) => dotOn(svg, sheet, n));
  /** @type {Cue | null} */
  let cue = null;
  let untilMs = 0;
  function minutes(/** @type {number} */ positionMs) {
    const text = say("phone.timer.minutes_left", { n: Math.max(0, Math.ceil((sheet.session_ms - Math.max(0, positionMs)) / 60_000)) });
    put(eyebrow, text);
    return text;
  }
  return {
    minutes,
    /** @param {Cue} given */
    show(given) {
      cue = given;
      untilMs = changesAt(sheet, given);
      const flash = given.phrase.phase === "rest" && untilMs - given.atMs < PASSED_OVER_MS;
      put(words, (!flash && given.phrase.text) || words.textContent || "");
      timer.dataset["phase"] = given.phrase.phase;
      if (!timeOnly) put(left, leftWords(given, sheet, say));
    },
    /** @param {number} positionMs */
    frame(positionMs) {
      const at = still ? Math.floor(positionMs / STILL_STEP_MS) * STILL_STEP_MS : positionMs;
      for (const dot of dots) dot(at);
      minutes(positionMs);
      const text = secondsWords(cue, untilMs, positionMs, sheet, timeOnly);
      put(seconds, text);
      word.hidden = timeOnly || text === NONE;
    },
    /** @param {number} n */
    countTo(n) { put(left, say("phone.timer.done", { n })); },
    /** @param {string} text */
    say(text) { put(words, text); },
  };
}

/**
 * Changes a text only where it is another one, so that nothing is read out twice.
 * @param {HTMLElement} element
 * @param {string} text
 */
function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * @param {HTMLElement} svg
 * @param {CueSheet} sheet
 * @param {number} n
 */
function dotOn(svg, sheet, n) {
  const dot = one(svg, "[data-dot]");
  const walked = one(svg, "[data-walked]");
  const hill = sheet.channels[n]?.hill ?? [];
  const rise = Number(svg.dataset["ground"]) - Number(svg.dataset["top"]);
  return (/** @type {number} */ positionMs) => {
    const place = cyclePlace(positionMs, sheet.first_rise_ms, sheet.cycle_ms);
    const x = ((WIDTH * place) / sheet.cycle_ms).toFixed(1);
    dot.setAttribute("transform", `translate(${x} ${((-rise * heightAt(hill, place)) / 1000).toFixed(1)})`);
    walked.setAttribute("width", x);
  };
}

/**
 * @param {Cue | null} cue
 * @param {number} untilMs  when its words give way
 * @param {number} positionMs
 * @param {CueSheet} sheet
 * @param {boolean} timeOnly
 */
function secondsWords(cue, untilMs, positionMs, sheet, timeOnly) {
  if (positionMs < 0) return String(Math.ceil(-positionMs / 1000));
  if (timeOnly) return clock(sheet.session_ms - positionMs);
  if (!cue?.phrase.seconds) return NONE;
  return String(Math.max(1, Math.ceil((untilMs - positionMs) / 1000)));
}

/**
 * When the words that a cue shows give way to the next: its own end, or sooner where the other channel's turn comes.
 * @param {CueSheet} sheet
 * @param {Cue} cue
 */
export function changesAt(sheet, cue) {
  const next = sheet.cues.slice(cue.index + 1).find((row) => sheet.phrases[row[1]]?.seconds);
  return next ? Math.min(cue.untilMs, next[0]) : cue.untilMs;
}

/** @param {number} ms */
function clock(ms) {
  const seconds = Math.max(0, Math.ceil(ms / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

/**
 * @param {Cue} cue
 * @param {CueSheet} sheet
 * @param {import("./strings.js").T} say
 */
function leftWords(cue, sheet, say) {
  const all = Math.max(...sheet.channels.map((channel) => channel.contractions));
  return say("phone.timer.left", { n: Math.max(0, all - Math.max(...cue.done)) });
}
