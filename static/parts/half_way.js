/** The look half-way through the first sessions, where feeling is less or lost: when it comes, and a sheet that ends there. Pure. */
import { cutSheet } from "./cue_cut.js";
import { passedBefore } from "./session.js";

const FIRST_SESSIONS_MS = 600_000; // as stimulation/first_trial.py has it: ten minutes

/**
 * When this run of a session stops for a look under the pads; 0 where it does not.
 * @param {{look_half_way?: boolean}} exercise
 * @param {{planned_s: number, cued_ms: number, passed_ms?: number}} draft
 */
export function lookAtMs(exercise, draft) {
  const planned = draft.planned_s * 1000;
  const half = Math.floor(planned / 2);
  return exercise.look_half_way && planned <= FIRST_SESSIONS_MS && passedBefore(draft) < half ? half : 0;
}

/**
 * Cuts a sheet where the look comes; its last cue says that, without the words of the end, and no minutes are told.
 * @param {import("./cue_cut.js").CueSheet} sheet
 * @param {number} atMs
 * @param {string} words
 */
export function sheetToLook(sheet, atMs, words) {
  const told = (/** @type {number[]} */ row) => ["halfway", "one_minute"].includes(sheet.phrases[row[1] ?? 0]?.phase ?? "");
  const cut = cutSheet({ ...sheet, cues: sheet.cues.filter((cue) => !told(cue)) }, atMs);
  const end = cut.phrases[cut.cues[cut.cues.length - 1]?.[1] ?? 0];
  if (!end) return cut;
  const look = cut.phrases.length;
  const changed = (/** @type {number[][]} */ rows) => rows.filter((row) => !told(row)).map((row, n, all) => (n === all.length - 1 ? [row[0] ?? atMs, look, ...row.slice(2)] : row));
  const less = cut.less_said;
  return {
    ...cut, phrases: [...cut.phrases, { ...end, text: words, clip: "" }], cues: changed(cut.cues),
    ...(less && { less_said: { work: changed(less.work), milestones: changed(less.milestones) } }),
  };
}
