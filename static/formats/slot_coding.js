/** Writes one field as its line of the table says; the same as webapp/formats/slot_coding.py. */

/** @typedef {import("./decisions.js").Decisions} Decisions */
/** @typedef {import("./record_habits.js").RecordHabits} RecordHabits */
/** @typedef {import("./record_habits.js").Fields} Fields */
/** @typedef {import("./slot_fit.js").Slot} Slot */
/** @typedef {import("./slot_fit.js").Context} Context */

const MOST_CONTEXT = 6;

/**
 * Gives entry n of a list, or the number itself; −1 where there is none.
 * @param {unknown} value
 * @param {number} n
 */
function entry(value, n) {
  if (Array.isArray(value)) return n < value.length ? Number(value[n]) : -1;
  return typeof value === "number" ? value : -1;
}

/** One field of one record under way. */
export class SlotCoding {
  /**
   * @param {{bits: Decisions, habits: RecordHabits, slot: Slot, name: string, group: string, last: Fields,
   *   out: Fields}} at `name` is the field with its kind, `group` its exercise, `out` what was written of the record so far
   */
  constructor({ bits, habits, slot, name, group, last, out }) {
    this.bits = bits;
    this.habits = habits;
    this.slot = slot;
    this.name = name;
    this.group = group;
    this.last = last;
    this.out = out;
    this.field = slot.field;
  }

  /** Writes a number or a list of them. @param {any} given */
  code(given) {
    if (this.slot.code === "set") this.#codeSet(given);
    else if (this.slot.list !== undefined) this.#codeList(this.slot.list, given);
    else this.#codeEntry(0, given);
    this.out[this.field] = given;
  }

  /** @param {number[]} given */
  #codeSet(given) {
    /** @type {number[]} */
    const same = this.last[this.field] ?? [];
    const isNew = given.length !== same.length || given.some((one, n) => one !== same[n]);
    this.bits.bit(`${this.name}~`, Number(isNew));
    if (!isNew) return;
    this.bits.count(`${this.name}#`, given.length);
    given.forEach((one, n) => this.bits.number(`${this.name}[`, one - (given[n - 1] ?? 0)));
  }

  /**
   * @param {string} of
   * @param {number[]} given
   */
  #codeList(of, given) {
    const usual = this.habits.sizes.get(of);
    if (usual === undefined) this.bits.count(`size ${of}`, given.length);
    else this.bits.number(`resize ${of}`, given.length - usual);
    this.habits.sizes.set(of, given.length);
    this.out[this.field] = given;
    given.forEach((one, n) => this.#codeEntry(n, one));
  }

  /**
   * @param {number} n
   * @param {number} given
   */
  #codeEntry(n, given) {
    const where = `${this.name}(${(this.slot.context ?? []).map((one) => this.#seenBy(one, n)).join(",")})`;
    if (this.slot.code === "symbol") this.bits.symbol(where, this.slot.bits ?? 0, given);
    else if (this.slot.code === "steady") this.#codeSteady(where, given);
    else this.#codeNumber(where, n, given);
  }

  /**
   * @param {string} where
   * @param {number} given
   */
  #codeSteady(where, given) {
    const hasChanged = given !== (this.last[this.field] ?? 0);
    this.bits.bit(`${where}~`, Number(hasChanged));
    if (!hasChanged) return;
    const unit = this.slot.unit ?? 1;
    const isRound = given % unit === 0;
    this.bits.bit(`${where}%`, Number(isRound));
    const step = isRound ? unit : 1;
    this.bits.number(`${where}${step}`, given / step);
  }

  /**
   * @param {string} where
   * @param {number} n
   * @param {number} given
   */
  #codeNumber(where, n, given) {
    const none = this.slot.not_answered;
    const before = this.last[this.field];
    const seen = Array.isArray(before) ? before[n] : before;
    if (none !== undefined) {
      this.bits.bit(`${where}!${Number(seen === none)}`, Number(given === none));
      if (given === none) return;
    }
    const guess = this.slot.code === "rate" ? this.#guessRated(n) : this.#guess(n, seen);
    this.bits.number(where, given - guess);
    this.#see(n, given);
  }

  /**
   * @param {number} n
   * @param {number} value
   */
  #see(n, value) {
    this.habits.seeAnswer(this.field, n, value);
    if (this.slot.from === "drift" || this.slot.from === "mean") this.habits.see(this.field, value);
    if (this.slot.code !== "rate") return;
    if (n) this.habits.steps.set(this.field, value - this.out[this.field][0]);
    else this.habits.seeRate(this.field + this.group, this.out["version"] ?? 0, value, this.out[this.slot.of ?? ""]);
  }

  /** @param {number} n */
  #guessRated(n) {
    if (n) return this.out[this.field][0] + (this.habits.steps.get(this.field) ?? 0);
    return this.habits.byRate(this.field + this.group, this.out[this.slot.of ?? ""]);
  }

  /**
   * @param {number} n
   * @param {number|undefined} seen
   * @returns {number}
   */
  #guess(n, seen) {
    const { from, not_answered: none, first = 0 } = this.slot;
    if (from === undefined) return 0;
    const known = seen !== undefined && seen !== none ? seen : this.habits.answered(this.field, n, first);
    if (from === "last") return known;
    if (from === "drift") return this.habits.towardsMean(this.field, known);
    if (from === "mean") return this.habits.mean(this.field, known);
    const value = this.out[from] ?? this.habits.head[from] ?? 0;
    return value === none ? known : value;
  }

  /**
   * @param {Context} one
   * @param {number} n
   */
  #seenBy(one, n) {
    if (one === "index") return Math.min(n, 3);
    if (one === "moved") return this.#moved(n);
    const value = one.last === undefined ? entry(this.out[one.now ?? ""], n) : entry(this.last[one.last], n);
    return Math.max(-1, Math.min(value, one.most ?? MOST_CONTEXT));
  }

  /** @param {number} n */
  #moved(n) {
    const before = this.last[this.field];
    return n < 1 || !before?.length ? 3 : Math.sign(this.out[this.field][0] - before[0]);
  }
}
