/** What the log shows of a record: all that the client did or said, in words. Pure. */
import { clockWords } from "./local_time.js";
import { minutesDone } from "./minutes_done.js";

/**
 * @typedef {{title: string, lines: string[], done: boolean}} Row
 * @typedef {{say: import("./strings.js").T, language: string, titleOf: (exercise: number) => string}} Words
 */

const DONE = 1;
const MOST_PAIN = 10;
const SKIN_NOT_ANSWERED = 9;
const ABOUT_PAIN = 2;

/**
 * @param {import("./day.js").Kept} kept
 * @param {Words} words
 * @returns {Row | null}  null for what a client did not do: a correction, what a newer release may bring
 */
export function logRow({ kind, record }, words) {
  const { say } = words;
  const time = clockWords(record.at_min, words.language);
  /** @type {Record<string, () => Row>} */
  const rows = {
    session: () => sessionRow(record, time, words),
    finding: () => plain(say(record.what === ABOUT_PAIN ? "phone.log.pain_title" : "phone.log.skin_title"), [time, ...skinLines(say, [record.skin]), ...noteLines(record)]),
    skin_later: () => plain(say("phone.log.later_title"), [time, ...skinLines(say, record.skin, true)]),
    not_today: () => plain(say("phone.log.not_today"), [time, say(`phone.log.why_${record.why}`), ...noteLines(record)]),
    changed: () => plain(say(`phone.log.changed_${record.what}`), [time]),
    pack_taken: () => plain(say("phone.log.plan_title"), [time]),
  };
  return rows[kind]?.() ?? null;
}

/** @param {string} title @param {string[]} lines @returns {Row} */
const plain = (title, lines) => ({ title, lines, done: false });

/**
 * @param {any} record
 * @param {string} time
 * @param {Words} words
 * @returns {Row}
 */
function sessionRow(record, time, { say, titleOf }) {
  const pain = record.pain_after_n <= MOST_PAIN ? [say("phone.log.pain", { n: record.pain_after_n })] : [];
  return {
    title: titleOf(record.exercise), done: record.ended === DONE,
    lines: [
      say("phone.log.time", { time, minutes: minutesDone(say, record.cued_s) }), say(`phone.log.ended_${record.ended}`),
      ...skinLines(say, record.skin_after), ...pain, ...noteLines(record)],
  };
}

/**
 * Each thing found on the skin once; "as always" only where that was the question.
 * @param {import("./strings.js").T} say
 * @param {number[]} answers
 * @param {boolean} [always]
 */
function skinLines(say, answers, always = false) {
  const found = [...new Set(answers)].filter((answer) => answer > 0 && answer < SKIN_NOT_ANSWERED);
  if (found.length === 0 && always && answers.every((answer) => answer === 0)) return [say("phone.skin.0")];
  return found.map((answer) => say(`phone.skin.${answer}`));
}

/** @param {any} record */
function noteLines(record) {
  return record.note ? [`“${record.note}”`] : [];
}
