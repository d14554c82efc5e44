/**
 * The session under way: a draft that goes through the pages, and what it becomes in the log. Pure: a draft in, a new draft out.
 *
 * Stages: skin, set-up (unit off) · zero, turn-up, timer, end (the unit may be on) · skin-after, questions (unit off again).
 */

import { timeFields } from "./step_times.js";

/**
 * @typedef {"skin" | "set-up" | "zero" | "turn-up" | "timer" | "end" | "skin-after" | "questions"} Stage
 *
 * @typedef {object} Draft
 * @property {number} [id]
 * @property {number} exercise
 * @property {number} version
 * @property {number} plan
 * @property {number} at_min  local minutes at the start: first of the session, then of the cues
 * @property {number} utc_q
 * @property {Stage} stage
 * @property {number} planned_s
 * @property {number[]} skin_before
 * @property {number[]} skin_after
 * @property {number} pain_before_n
 * @property {number} pain_after_n
 * @property {number} effort_n
 * @property {number} help
 * @property {number} answered_by
 * @property {string} note
 * @property {number[]} steps_skipped
 * @property {number[]} strength  as the unit shows it, one a channel; -1 not answered
 * @property {number} cued_ms  cued in earlier runs of this session (before a pause with the unit off)
 * @property {number} [passed_ms]  of the session, with what the unit did while the cues were silent: after a pause it goes on from here
 * @property {number[]} contractions
 * @property {number} pauses_n
 * @property {number[]} taps  session time of each tap in ms
 * @property {number} [period_ppm]  the unit's clock as the taps gave it, from nominal
 * @property {number} ended
 * @property {number} lost_n
 * @property {boolean} [whole]  all set-up steps were asked for today
 * @property {{[step: number]: number}} [steps_ms]  how long each step of set-up took
 * @property {{step: number, at_ms: number}} [step_now]  the step that is shown, 0 none, and since when
 * @property {number} [ended_ms]  wall clock when the cues ended by themselves
 * @property {number} [saved_ms]
 */

export const ENDED = { unknown: 0, done: 1, pain: 2, skin: 3, unwell: 4, tired: 5, contactLost: 6, unit: 7, interrupted: 8 };
export const NOT_ANSWERED = { skin: 9, place: 99, scale: 11, help: 3, by: 3, strength: -1, period: 1_000_000 };
const NOTE_BYTES = 280;
const RESUMED_WITHIN_MS = 3_600_000;

/** @type {readonly Stage[]} */
const UNIT_MAY_BE_ON = ["zero", "turn-up", "timer", "end"];
/** @type {readonly Stage[]} */
const AFTERWARDS = ["skin-after", "questions"];

/** @param {Stage} stage */
export function unitMayBeOn(stage) {
  return UNIT_MAY_BE_ON.includes(stage);
}

/**
 * Begins a session.
 * @param {{exercise: number, version: number, plan: number, at_min: number, utc_q: number, planned_s: number, places: number, channels: number}} of
 * @returns {Draft}
 */
export function newDraft(of) {
  const { places, channels, ...rest } = of;
  return {
    ...rest, stage: "skin", skin_before: filled(places, NOT_ANSWERED.skin), skin_after: filled(places, NOT_ANSWERED.skin),
    pain_before_n: NOT_ANSWERED.scale, pain_after_n: NOT_ANSWERED.scale, effort_n: NOT_ANSWERED.scale, help: NOT_ANSWERED.help,
    answered_by: NOT_ANSWERED.by, note: "", steps_skipped: [], strength: filled(channels, NOT_ANSWERED.strength), cued_ms: 0,
    contractions: filled(channels, 0), pauses_n: 0, taps: [], ended: ENDED.unknown, lost_n: 0,
  };
}

/**
 * Where an opened page leads, given the draft on this phone. A page after `zero` may only be come to by going on from the page
 * before it (`handed`); found in any other way (a dead phone, a reload) the first question is whether the unit is on.
 * @param {Stage | null} pageStage  null for a page outside the session
 * @param {Draft | null} draft
 * @param {boolean} handed
 * @param {number} nowMs
 * @returns {"stay" | "today" | "found" | "drop" | "close" | "resume"}
 */
export function entry(pageStage, draft, handed, nowMs) {
  if (!draft) return pageStage === null || pageStage === "skin" ? "stay" : "today";
  if (handed && pageStage === draft.stage) return "stay";
  if (pageStage === "end" && draft.stage === "end") return "stay";
  if (unitMayBeOn(draft.stage)) return "found";
  const fresh = nowMs - (draft.saved_ms ?? 0) < RESUMED_WITHIN_MS;
  if (AFTERWARDS.includes(draft.stage)) {
    if (!fresh) return "close";
    return pageStage === draft.stage ? "stay" : "resume";
  }
  if (pageStage === "skin") return "stay";
  if (!fresh) return "drop";
  return pageStage === null || pageStage === draft.stage ? "stay" : "resume";
}

/**
 * Tells whether the skin was being looked at just now: then it goes on where it was. Longer ago, the skin is looked at anew.
 * @param {Draft} draft
 * @param {number} nowMs
 */
export function isUnderSkin(draft, nowMs) {
  return draft.stage === "skin" && nowMs - (draft.saved_ms ?? 0) < RESUMED_WITHIN_MS;
}

/**
 * Where a session that starts again goes on; what was cued where no more is known.
 * @param {{cued_ms: number, passed_ms?: number}} draft
 */
export function passedBefore(draft) {
  return draft.passed_ms ?? draft.cued_ms;
}

/**
 * @param {number[]} list
 * @param {number} index
 * @param {number} value
 */
export function withAt(list, index, value) {
  return list.map((old, n) => (n === index ? value : old));
}

/**
 * Notes a step that was skipped, once.
 * @param {Draft} draft
 * @param {number} step
 * @returns {Draft}
 */
export function skipped(draft, step) {
  return { ...draft, steps_skipped: [...new Set([...draft.steps_skipped, step])].sort((a, b) => a - b) };
}

/**
 * The fields of the session record that a draft becomes.
 * @param {Draft} draft
 * @param {"ma" | "level"} shows
 * @returns {Record<string, unknown>}
 */
export function sessionFields(draft, shows) {
  const { plan, version, exercise, at_min, utc_q, planned_s, skin_before, skin_after, steps_skipped } = draft;
  return {
    plan, version, exercise, at_min, utc_q, planned_s, skin_before, skin_after, steps_skipped,
    cued_s: Math.floor(draft.cued_ms / 1000), ended: draft.ended, pauses_n: draft.pauses_n, contractions_n: draft.contractions,
    ...(shows === "level" ? { strength_level: draft.strength } : { strength_half_ma: draft.strength.map(halves) }),
    pain_before_n: draft.pain_before_n, pain_after_n: draft.pain_after_n, effort_n: draft.effort_n, help: draft.help,
    taps_n: draft.taps.length, period_ppm: draft.period_ppm ?? NOT_ANSWERED.period, answered_by: draft.answered_by, note: shortNote(draft.note),
    ...timeFields(draft),
  };
}

/**
 * How many bytes of a note are left.
 * @param {string} text
 */
export function noteRoom(text) {
  return NOTE_BYTES - new TextEncoder().encode(text.trim()).length;
}

/**
 * The note as it goes into the log: cut between characters where it is over the limit.
 * @param {string} text
 */
export function shortNote(text) {
  const characters = [...text.trim()];
  while (noteRoom(characters.join("")) < 0) characters.pop();
  return characters.join("");
}

/** @param {number} shown */
function halves(shown) {
  return shown < 0 ? NOT_ANSWERED.strength : Math.round(shown * 2);
}

/**
 * @param {number} length
 * @param {number} value
 */
function filled(length, value) {
  return Array.from({ length }, () => value);
}
