/**
 * Writes the records of one phone, each field by a line of the table; the same as webapp/formats/record_coding.py,
 * which says how the table is read.
 */

import { Decisions } from "./decisions.js";
import { canonical } from "./log_record.js";
import { RecordHabits } from "./record_habits.js";
import { SlotCoding } from "./slot_coding.js";
import { fits, fitsOptional, held, MOST_RECORD_BYTES } from "./slot_fit.js";
import { TextModel } from "./text_model.js";
import { codeTimeOfDay } from "./time_of_day.js";

/** @typedef {import("./arithmetic.js").Encoder} Encoder */
/** @typedef {import("./record_habits.js").Fields} Fields */
/** @typedef {import("./slot_fit.js").Spec} Spec */
/** @typedef {import("./slot_fit.js").Slot} Slot */
/** @typedef {import("./slot_fit.js").Either} Either */
/**
 * @typedef {{format: string, record: string, head: {[name: string]: number}, kinds: Spec[], primer: string[],
 *   start: import("./decisions.js").Start}} Table
 */

const MOST_RECORDS = 2048;
const MOST_DECISIONS = 400_000;
const MOST_TEXT = 16_384;
const MOST_MODELLED = 1024;
const KIND_BITS = 3;
const OWN_TEXT = 7;

/** Writes record after record. */
export class RecordCoding {
  /**
   * @param {Encoder} coder
   * @param {Table} table
   * @param {TextModel} primed
   */
  constructor(coder, table, primed) {
    this.coder = coder;
    this.bits = new Decisions(coder, table.start);
    this.kinds = table.kinds;
    this.habits = new RecordHabits(table.head);
    this.model = new TextModel(primed);
    this.kindN = 0;
    this.records = 0;
    this.textBytes = 0;
  }

  /** Whether this is more than one frame may hold: a reader's work is bounded. */
  get isSpent() {
    return this.textBytes > MOST_TEXT || this.bits.made > MOST_DECISIONS || this.records > MOST_RECORDS;
  }

  /** Writes one record, without `format` and `device`. @param {Fields} record */
  code(record) {
    this.records += 1;
    const n = this.kinds.findIndex((spec) => spec.kind === record["kind"]);
    const spec = this.kinds[n];
    const fitting = spec && fits(spec, record) ? spec : undefined;
    this.bits.symbol(`kind ${this.kindN}`, KIND_BITS, fitting ? n : OWN_TEXT);
    if (fitting) this.#codeFields(fitting, n, record);
    else this.#codeObject("own", record);
  }

  /**
   * @param {Spec} spec
   * @param {number} n
   * @param {Fields} record
   */
  #codeFields(spec, n, record) {
    const { kind } = spec;
    const head = this.habits.head;
    this.kindN = n;
    this.bits.number("seq", record["seq"] - (head["seq"] ?? 0) - 1);
    this.#codeHead(spec, record);
    if (spec.time === "after") this.bits.number(`${kind} after`, record["at_min"] - (head["at_min"] ?? 0));
    else codeTimeOfDay(this.bits, this.habits, kind, record["at_min"]);
    /** @type {Fields} */
    const out = {};
    for (const name of ["kind", "seq", "at_min", ...spec.head]) out[name] = record[name];
    for (const slot of spec.slots) this.#codeSlot(spec, slot, record, out);
    for (const name of ["seq", "at_min", ...spec.head, ...(spec.sets ?? [])]) head[name] = out[name];
    this.habits.remember(kind, group(spec, out), out);
    this.#codeFurther(spec, record, out);
  }

  /**
   * @param {Spec} spec
   * @param {Fields} record
   */
  #codeHead(spec, record) {
    const changes = spec.head.map((name) => record[name] - (this.habits.head[name] ?? 0));
    const hasChanged = changes.some((change) => change !== 0);
    this.bits.bit(`${spec.kind} head`, Number(hasChanged));
    if (hasChanged) spec.head.forEach((name, n) => this.bits.number(`head ${name}`, changes[n] ?? 0));
  }

  /**
   * @param {Spec} spec
   * @param {Slot|Either} line
   * @param {Fields} record
   * @param {Fields} out
   */
  #codeSlot(spec, line, record, out) {
    const slot = "either" in line ? this.#codeChoice(spec.kind, line, record) : line;
    const name = `${spec.kind}.${slot.field}`;
    const given = record[slot.field];
    if (slot.code === "text") this.#codeNote(name, given);
    else if (slot.code === "object") this.#codeObject(name, given);
    else if (slot.code === "hex") this.#codeHex(name, given);
    else {
      const around = { bits: this.bits, habits: this.habits, group: group(spec, out), out };
      new SlotCoding({ ...around, slot, name, last: this.habits.last(spec.kind, around.group) }).code(given);
    }
    out[slot.field] = given;
  }

  /**
   * @param {string} kind
   * @param {Either} line
   * @param {Fields} record
   */
  #codeChoice(kind, { either: [one, other] }, record) {
    const known = Number(other.field in this.habits.last(kind));
    const isOther = !Object.hasOwn(record, one.field);
    this.bits.bit(`${kind} either ${known}`, Number(isOther));
    return isOther ? other : one;
  }

  /**
   * @param {Spec} spec
   * @param {Fields} record
   * @param {Fields} out
   */
  #codeFurther(spec, record, out) {
    const known = held(spec, record);
    const further = Object.fromEntries(Object.entries(record).filter(([name]) => !known.has(name)));
    const has = Object.keys(further).length > 0;
    this.bits.bit(`${spec.kind} further`, Number(has));
    if (has && fitsOptional(spec, further)) {
      this.bits.bit("further long", 1); // a text of no length stands for the optional slots
      this.bits.count("further length", 0);
      for (const slot of spec.optional ?? []) this.#codeSlot(spec, slot, record, out);
    } else if (has) this.#codeObject("further", further);
  }

  /**
   * @param {string} name
   * @param {string} digits
   */
  #codeHex(name, digits) {
    this.bits.count(`${name}#`, digits.length);
    for (const digit of digits) this.bits.flat(4, Number.parseInt(digit, 16));
  }

  /**
   * @param {string} name
   * @param {string} note
   */
  #codeNote(name, note) {
    this.bits.bit(name, Number(note !== ""));
    if (note !== "") this.#codeModelled(new TextEncoder().encode(note));
  }

  /**
   * @param {string} name
   * @param {Fields} given
   */
  #codeObject(name, given) {
    const text = canonical(given);
    if (text.length > MOST_RECORD_BYTES) throw new RangeError(`a record of ${text.length} bytes`);
    const isLong = text.length > MOST_MODELLED;
    this.bits.bit(`${name} long`, Number(isLong));
    if (!isLong) {
      this.#codeModelled(text);
      return;
    }
    this.bits.count(`${name} length`, text.length);
    for (const byte of text) this.bits.flat(8, byte);
  }

  /** Writes a text and the zero byte that ends it. @param {Uint8Array} text */
  #codeModelled(text) {
    for (const byte of text) this.model.code(this.coder, byte);
    this.model.code(this.coder, 0);
    this.textBytes += text.length + 1;
  }
}

/**
 * @param {Spec} spec
 * @param {Fields} out
 */
const group = (spec, out) => (spec.by === undefined ? "" : ` ${out[spec.by] ?? ""}`);
