/**
 * Predicts the bits of short texts, learning as it goes: byte for byte the same as webapp/formats/text_model.py, which
 * says how. Products stay below 2^53, and what a bit operator takes stays below 2^31.
 */

import { HALF } from "./arithmetic.js";

/** @typedef {{code: (bit: number, chance: number) => void}} BitCoder */
/** @typedef {{chance: number, seen: number}} Learnt */

const KNOTS = [
  1, 2, 3, 6, 10, 16, 27, 45, 73, 120, 194, 310, 488, 747, 1101, 1546, 2047, 2549, 2994, 3348, 3607, 3785, 3901, 3975,
  4024, 4050, 4068, 4079, 4085, 4089, 4092, 4093, 4094,
];
const LAST = 2047;
const CONTEXTS = 7;
const LONGEST = 5;
const WEIGHT = 14_000;
const WEIGHT_OF_NONE = 9_000;
const WEIGHT_STEP = 3_000;
const MOST_WEIGHT = 65_535;
const SHARES = 6;
const MOST_SEEN = 127;
const RATES = Array.from({ length: MOST_SEEN + 1 }, (_, n) => Math.floor(131_072 / (2 * n + 3)));
const SHARE = Array.from({ length: MOST_SEEN + 1 }, (_, n) => (n < 4 ? n : n < 12 ? 4 : 5));
const SPREAD = 0x9e3779b1;
const MIX = 0x2c1b3c6d;
const STIR = 0x297a2d39;
const WORD = 0x2f0b4c47;
const FIFTH = 0x85ebca6b;

/**
 * @param {number} value
 * @param {number} least
 * @param {number} most
 */
const bounded = (value, least, most) => Math.min(Math.max(value, least), most);

/**
 * Turns a logistic value (256 is 1 nat) into a chance of 4,096ths, by straight lines between 33 points.
 * @param {number} x
 */
function squash(x) {
  if (x > LAST) return 4095;
  if (x < -LAST) return 0;
  const at = (x >> 7) + 16;
  const part = x & 127;
  return ((KNOTS[at] ?? 0) * (128 - part) + (KNOTS[at + 1] ?? 0) * part + 64) >> 7;
}

const STRETCH = new Int16Array(4096).fill(LAST);
for (let x = -LAST, from = 0; x <= LAST; x++) {
  STRETCH.fill(x, from, Math.max(from, squash(x) + 1));
  from = Math.max(from, squash(x) + 1);
}

/** @returns {Map<number, Learnt>[]} */
const emptyMaps = () => Array.from({ length: CONTEXTS }, () => new Map());

/** @returns {Int32Array[]} */
const firstWeights = () => Array.from({ length: CONTEXTS }, (_, n) => {
  const start = n ? WEIGHT : WEIGHT_OF_NONE;
  return Int32Array.from({ length: SHARES }, (__, share) => start + WEIGHT_STEP * share);
});

/** Writes bytes by what came before them. */
export class TextModel {
  /** @param {TextModel} [primed] a model that has read the primer; it is not changed */
  constructor(primed) {
    /** @type {Map<number, Learnt>[]} */
    this.base = primed ? primed.learnt : emptyMaps();
    /** @type {Map<number, Learnt>[]} */
    this.learnt = emptyMaps();
    /** @type {Int32Array[]} */
    this.weights = primed ? primed.weights.map((row) => row.slice()) : firstWeights();
    this.lastFour = primed?.lastFour ?? 0;
    this.fifth = primed?.fifth ?? 0;
    this.word = primed?.word ?? 0;
    this.hashes = new Float64Array(CONTEXTS);
    this.inputs = new Int32Array(CONTEXTS);
    this.#hashContexts();
  }

  /** Makes a model that has read a text. @param {Uint8Array} text */
  static reading(text) {
    const model = new TextModel();
    for (const byte of text) model.code({ code() {} }, byte);
    return model;
  }

  /**
   * Writes one byte.
   * @param {BitCoder} coder
   * @param {number} byte
   */
  code(coder, byte) {
    let node = 1;
    for (let place = 7; place >= 0; place--) {
      const bit = (byte >> place) & 1;
      this.#codeBit(coder, node, bit);
      node = node * 2 + bit;
    }
    this.#see(byte);
  }

  /**
   * @param {BitCoder} coder
   * @param {number} node
   * @param {number} bit
   */
  #codeBit(coder, node, bit) {
    /** @type {Learnt[]} */
    const found = [];
    let total = 0;
    for (let n = 0; n < CONTEXTS; n++) {
      const one = this.#find(n, ((this.hashes[n] ?? 0) + Math.imul(node, SPREAD)) >>> 0);
      const input = one.seen ? (STRETCH[one.chance >> 4] ?? 0) : 0;
      found.push(one);
      this.inputs[n] = input;
      total += (this.weights[n]?.[SHARE[one.seen] ?? 0] ?? 0) * input;
    }
    const mixed = squash(total >> 16);
    coder.code(bit, bounded(mixed * 16 + 8, 64, 65_472));
    found.forEach((one, n) => this.#learn(one, n, bit, (bit << 12) - mixed));
  }

  /**
   * @param {number} context
   * @param {number} key
   * @returns {Learnt}
   */
  #find(context, key) {
    const known = this.learnt[context]?.get(key);
    if (known) return known;
    const learnt = { chance: HALF, seen: 0, ...this.base[context]?.get(key) };
    this.learnt[context]?.set(key, learnt);
    return learnt;
  }

  /**
   * @param {Learnt} one
   * @param {number} n
   * @param {number} bit
   * @param {number} error
   */
  #learn(one, n, bit, error) {
    const row = this.weights[n];
    const share = SHARE[one.seen] ?? 0;
    const step = ((this.inputs[n] ?? 0) * error + 512) >> 10;
    if (row) row[share] = bounded((row[share] ?? 0) + step, -MOST_WEIGHT, MOST_WEIGHT);
    const change = Math.floor((((bit ? 65_535 : 0) - one.chance) * (RATES[one.seen] ?? 0)) / 65_536);
    one.chance = bounded(one.chance + change, 32, 65_503);
    one.seen = Math.min(one.seen + 1, MOST_SEEN);
  }

  /** @param {number} byte */
  #see(byte) {
    this.fifth = this.lastFour >>> 24;
    this.lastFour = ((this.lastFour << 8) | byte) >>> 0;
    const lower = byte | 0x20;
    const isLetter = (lower >= 97 && lower <= 122) || byte >= 128;
    this.word = isLetter ? (Math.imul(this.word, WORD) + lower + 1) >>> 0 : 0;
    this.#hashContexts();
  }

  #hashContexts() {
    for (let length = 1; length <= LONGEST; length++) {
      const part = length < 4 ? this.lastFour & ((1 << (8 * length)) - 1) : this.lastFour;
      const further = length === LONGEST ? Math.imul(this.fifth, FIFTH) : 0;
      const mixed = (Math.imul(part, MIX) + Math.imul(length, SPREAD) + further) >>> 0;
      this.hashes[length] = Math.imul(mixed ^ (mixed >>> 15), STIR) >>> 0;
    }
    this.hashes[CONTEXTS - 1] = (Math.imul(this.word, MIX) + Math.imul(CONTEXTS, SPREAD)) >>> 0;
  }
}
