/**
 * A binary arithmetic coder that writes: whole numbers only, byte for byte the same as webapp/formats/arithmetic.py.
 * A chance is a whole number of 65,536ths, from 1 to 65,535.
 */

export const HALF = 32_768;
const TOP = 0xffffffff;
const TOP_BYTE = 0xff000000;

/** Codes bits into bytes; the interval has 32 bits and is kept without carries. */
export class Encoder {
  constructor() {
    this.low = 0;
    this.high = TOP;
    /** @type {number[]} */
    this.out = [];
  }

  /**
   * Writes one bit whose chance of being 1 is `chance` / 65,536.
   * @param {number} bit
   * @param {number} chance
   */
  code(bit, chance) {
    const span = this.high - this.low;
    // in two parts, so that no product passes 32 bits
    const middle = this.low + (span >>> 16) * chance + (((span & 0xffff) * chance) >>> 16);
    if (bit) this.high = middle;
    else this.low = middle + 1;
    while (((this.low ^ this.high) & TOP_BYTE) === 0) {
      this.out.push(this.high >>> 24);
      this.low = (this.low << 8) >>> 0;
      this.high = ((this.high << 8) | 0xff) >>> 0;
    }
  }

  /** Gives an encoder that goes on from here by itself. */
  copy() {
    const other = new Encoder();
    other.low = this.low;
    other.high = this.high;
    other.out = this.out.slice();
    return other;
  }

  /** Gives the bytes, with the shortest end that lies in the interval when zeros follow it. */
  finish() {
    for (let count = 0; count < 4; count++) {
      const unit = 2 ** (32 - 8 * count);
      const value = Math.ceil(this.low / unit) * unit;
      if (value <= this.high) return Uint8Array.from([...this.out, ...topBytes(value, count)]);
    }
    return Uint8Array.from([...this.out, ...topBytes(this.low, 4)]);
  }
}

/**
 * @param {number} value
 * @param {number} count
 */
function topBytes(value, count) {
  return [24, 16, 8, 0].slice(0, count).map((shift) => (value >>> shift) & 0xff);
}
