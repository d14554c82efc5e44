/** The fields of wattlebird.record/1: the same table as in webapp/formats/log_record.py (a test compares the two). */

/**
 * A field's type, range, and the value that says "not answered". `ints` is a list, `most_entries` long at most; the
 * `hi` of a text is its length in UTF-8 bytes, `lo` and `hi` of hex its digits.
 * @typedef {{type: "int"|"ints"|"text"|"hex"|"object", lo: number, hi: number, not_answered: number|null,
 *   most_entries: number}} Field
 * @typedef {{[name: string]: unknown}} LogRecord
 */

export const FORMAT = "wattlebird.record/1";
export const NOTE_BYTES = 280;
const PLACES = 16;
const COUNT = 1_000_000;

/**
 * @param {Field["type"]} type
 * @param {number} lo
 * @param {number} hi
 * @param {number|null} [not_answered]
 * @param {number} [most_entries]
 * @returns {Field}
 */
const field = (type, lo, hi, not_answered = null, most_entries = 0) => ({ type, lo, hi, not_answered, most_entries });

const VERSION = field("int", 1, COUNT);
const SEQ = field("int", 1, Number.MAX_SAFE_INTEGER);
const SKIN = field("int", 0, 5, 9);
const SKIN_EACH = field("ints", 0, 5, 9, PLACES);
const SCALE = field("int", 0, 10, 11);
const NOTE = field("text", 0, NOTE_BYTES);
const BY = field("int", 0, 2, 3);

/** @type {{[name: string]: Field}} */
export const COMMON = {
  device: field("hex", 16, 16),
  seq: SEQ,
  at_min: field("int", 0, 200_000_000),
  utc_q: field("int", -48, 56),
};

/** @type {{[kind: string]: {[name: string]: Field}}} */
export const FIELDS = {
  session: {
    plan: VERSION,
    version: VERSION,
    exercise: field("int", 1, 4),
    planned_s: field("int", 0, 100_000),
    cued_s: field("int", 0, 100_000),
    ended: field("int", 1, 8, 0),
    pauses_n: field("int", 0, 9999),
    contractions_n: field("ints", 0, 100_000, null, 2),
    strength_half_ma: field("ints", 0, 400, -1, 2),
    strength_level: field("ints", 0, 1000, -1, 2),
    skin_before: SKIN_EACH,
    skin_after: SKIN_EACH,
    pain_before_n: SCALE,
    pain_after_n: SCALE,
    effort_n: SCALE,
    help: field("int", 0, 2, 3),
    steps_skipped: field("ints", 1, 99, null, 99),
    taps_n: field("int", 0, 9999),
    period_ppm: field("int", -100_000, 100_000, 1_000_000),
    answered_by: BY,
    note: NOTE,
  },
  skin_later: { session_seq: SEQ, when: field("int", 1, 2), skin: SKIN_EACH },
  not_today: { exercise: field("int", 0, 4), why: field("int", 1, 7), note: NOTE },
  finding: {
    exercise: field("int", 0, 4),
    what: field("int", 1, 3),
    place_n: field("int", 0, PLACES - 1, 99),
    skin: SKIN,
    pain_n: SCALE,
    note: NOTE,
  },
  changed: { what: field("int", 1, 3), version: field("int", 0, COUNT), by: BY },
  pack_taken: { version: VERSION, pack: field("hex", 1, 64) },
  correction: { corrects_seq: SEQ, fields: field("object", 0, 60) },
};

/**
 * Fields that a record of an older phone does not have; where one is there, it is in its range.
 * @type {{[kind: string]: {[name: string]: Field}}}
 */
export const OPTIONAL = {
  session: {
    longest_step: field("int", 1, 99), longest_step_s: field("int", 0, 100_000), set_up_s: field("int", 0, 100_000),
  },
};

/** Of these a session has exactly one. */
export const STRENGTHS = ["strength_half_ma", "strength_level"];
