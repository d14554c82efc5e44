/** What one phone's records have shown so far, from which the next one is guessed; the same as record_habits.py. */

/** @typedef {{[name: string]: any}} Fields */

const PARTS = 64;
const MOST_SEEN = 16;
const RATE_PARTS = 65_536;
// a rate times what it is of stays below 2^53
const MOST_RATED = 2 ** 18;
/** @type {Fields} */
const NOTHING = {};

/** Remembers the last records, what was answered last, running means and rates. */
export class RecordHabits {
  /** @param {{[name: string]: number}} head */
  constructor(head) {
    /** @type {{[name: string]: number}} */
    this.head = { ...head };
    /** @type {Map<string, number>} */
    this.sizes = new Map();
    /** @type {Map<string, number>} */
    this.steps = new Map();
    /** @type {Map<string, Fields>} */
    this.lasts = new Map();
    /** @type {Map<string, number>} */
    this.answers = new Map();
    /** @type {Map<string, {mean: number, seen: number}>} */
    this.means = new Map();
    /** @type {Map<string, {rate: number, version: number, seen: number}>} */
    this.rates = new Map();
  }

  /**
   * Gives the last record of a kind, where there is one the last of the same group (the same exercise).
   * @param {string} kind
   * @param {string} [group]
   * @returns {Fields}
   */
  last(kind, group = "") {
    return this.lasts.get(kind + group) ?? this.lasts.get(kind) ?? NOTHING;
  }

  /**
   * Makes a record the last of its kind and of its group.
   * @param {string} kind
   * @param {string} group
   * @param {Fields} record
   */
  remember(kind, group, record) {
    this.lasts.set(kind, record);
    this.lasts.set(kind + group, record);
  }

  /**
   * Gives what was answered last, by entry n of a list or by its first, or else a usual value.
   * @param {string} field
   * @param {number} n
   * @param {number} first
   */
  answered(field, n, first) {
    return this.answers.get(`${field} ${n}`) ?? this.answers.get(`${field} 0`) ?? first;
  }

  /**
   * Notes an answer.
   * @param {string} field
   * @param {number} n
   * @param {number} value
   */
  seeAnswer(field, n, value) {
    this.answers.set(`${field} ${n}`, value);
  }

  /**
   * Takes a value into a running mean.
   * @param {string} name
   * @param {number} value
   */
  see(name, value) {
    const { mean, seen } = this.means.get(name) ?? { mean: 0, seen: 0 };
    const now = Math.min(seen + 1, MOST_SEEN);
    this.means.set(name, { mean: mean + Math.floor((value * PARTS + PARTS / 2 - mean) / now), seen: now });
  }

  /**
   * Gives a running mean, rounded, or a usual value.
   * @param {string} name
   * @param {number} first
   */
  mean(name, first) {
    return Math.floor((this.means.get(name)?.mean ?? first * PARTS) / PARTS);
  }

  /**
   * Draws a value by three eighths towards its running mean.
   * @param {string} name
   * @param {number} value
   */
  towardsMean(name, value) {
    const known = this.means.get(name);
    return known ? Math.floor((value * 5 * PARTS + known.mean * 3 + 4 * PARTS) / (8 * PARTS)) : value;
  }

  /**
   * Takes value ÷ of into a running rate, which begins afresh with each version.
   * @param {string} name
   * @param {number} version
   * @param {number} value
   * @param {number} of
   */
  seeRate(name, version, value, of) {
    if (of <= 0 || of > MOST_RATED || value <= 0 || value > MOST_RATED) return;
    const now = Math.floor((value * RATE_PARTS) / of);
    const before = this.rates.get(name) ?? { rate: 0, version, seen: 0 };
    const seen = before.version === version ? Math.min(before.seen + 1, MOST_SEEN) : 1;
    this.rates.set(name, { rate: before.rate + Math.floor((now - before.rate) / seen), version, seen });
  }

  /**
   * Gives what the rate makes of a number, rounded; 0 where no rate is known.
   * @param {string} name
   * @param {number} of
   */
  byRate(name, of) {
    const rate = this.rates.get(name)?.rate ?? 0;
    return of > 0 && of <= MOST_RATED ? Math.floor((of * rate + RATE_PARTS / 2) / RATE_PARTS) : 0;
  }
}
