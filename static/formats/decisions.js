/**
 * Decisions between two, each with a chance that is learnt under a name; numbers and symbols are made of them. Byte for
 * byte the same as webapp/formats/decisions.py.
 */

import { HALF } from "./arithmetic.js";

/** @typedef {import("./arithmetic.js").Encoder} Encoder */
/** @typedef {{[name: string]: readonly number[]}} Start */

const LEAST = 100;
const MOST = 65_436;
const ONE = 65_535;
const MOST_SEEN = 250;
const RATES = Array.from({ length: MOST_SEEN + 1 }, (_, n) => Math.floor(131_072 / (2 * n + 3)));
const NAMED_DIGITS = 3;

/** Writes decisions, symbols and numbers by the name of what they depend on. */
export class Decisions {
  /**
   * @param {Encoder} coder
   * @param {Start} start
   */
  constructor(coder, start) {
    this.coder = coder;
    this.start = start;
    this.made = 0;
    /** @type {Map<string, {chance: number, seen: number}>} */
    this.learnt = new Map();
  }

  /**
   * Writes a 0 or 1.
   * @param {string} name
   * @param {number} value
   */
  bit(name, value) {
    this.made += 1;
    const learnt = this.learnt.get(name) ?? this.#first(name);
    this.coder.code(value, learnt.chance);
    const change = Math.floor((((value ? ONE : 0) - learnt.chance) * (RATES[learnt.seen] ?? 0)) / 65_536);
    learnt.chance = Math.min(Math.max(learnt.chance + change, LEAST), MOST);
    learnt.seen = Math.min(learnt.seen + 1, MOST_SEEN);
  }

  /** @param {string} name */
  #first(name) {
    const [chance = HALF, seen = 0] = Object.hasOwn(this.start, name) ? (this.start[name] ?? []) : [];
    const learnt = { chance, seen };
    this.learnt.set(name, learnt);
    return learnt;
  }

  /**
   * Writes a whole number of so many bits, all equally likely.
   * @param {number} bits
   * @param {number} value
   */
  flat(bits, value) {
    for (let place = bits - 1; place >= 0; place--) this.coder.code((value >> place) & 1, HALF);
  }

  /**
   * Writes one of 2^bits values, each learnt by itself.
   * @param {string} name
   * @param {number} bits
   * @param {number} value
   */
  symbol(name, bits, value) {
    let node = 1;
    for (let place = bits - 1; place >= 0; place--) {
      const bit = (value >> place) & 1;
      this.bit(`${name}/${node}`, bit);
      node = node * 2 + bit;
    }
  }

  /**
   * Writes a whole number from 0: how many binary digits `value + 1` has after its first, then these.
   * @param {string} name
   * @param {number} value
   */
  count(name, value) {
    let digits = 0;
    while (2 ** (digits + 1) <= value + 1) digits += 1;
    for (let n = 0; n <= digits; n++) this.bit(`${name}+${n}`, Number(n < digits));
    let found = 1;
    for (let place = digits - 1; place >= 0; place--) {
      const isNamed = digits - place <= NAMED_DIGITS;
      const bit = Math.floor((value + 1) / 2 ** place) % 2;
      this.bit(isNamed ? `${name}=${digits}.${found}` : `${name}=${digits}-${place}`, bit);
      found = found * 2 + bit;
    }
  }

  /**
   * Writes a whole number: whether it is 0, its sign, its size.
   * @param {string} name
   * @param {number} value
   */
  number(name, value) {
    this.bit(`${name}?`, Number(value !== 0));
    if (value === 0) return;
    this.bit(`${name}-`, Number(value < 0));
    this.count(name, Math.abs(value) - 1);
  }
}
