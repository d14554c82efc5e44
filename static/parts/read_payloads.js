/** What a tab has read and not yet handed in: sealed payloads, kept until the server has taken them in. */

import { headOf, PREFIX } from "../formats/return_frame.js";

const KEPT_AS = "wattlebird-read";

/** @typedef {"code" | "file"} Road */

/** Tells a payload of a log from any other code. @param {string} text */
export const isPayload = (text) => text.startsWith(PREFIX);

/** The payloads of this tab, in the order of reading; they outlive a reload, not the tab. */
export class ReadPayloads {
  /** @param {Storage} kept */
  constructor(kept) {
    this.kept = kept;
    /** @type {Map<string, Road>} */
    this.roads = new Map(this.#stored());
    this.showing = new Showing(this.roads.keys());
  }

  /** @returns {[string, Road][]} */
  #stored() {
    try {
      const found = JSON.parse(this.kept.getItem(KEPT_AS) ?? "[]");
      return Array.isArray(found) ? found : [];
    } catch {
      return [];
    }
  }

  #keep() {
    try {
      this.kept.setItem(KEPT_AS, JSON.stringify([...this.roads]));
    } catch { /* no room there: they are still in this page */ }
  }

  get size() { return this.roads.size; }

  get payloads() { return [...this.roads.keys()]; }

  /** @returns {Road} by which road it came, as a whole */
  get road() { return [...this.roads.values()].includes("code") ? "code" : "file"; }

  /** Adds what was read; false where all of it was here. @param {Iterable<string>} texts @param {Road} road */
  add(texts, road) {
    const before = this.size;
    for (const text of texts) if (!this.roads.has(text)) this.#take(text, road);
    if (this.size !== before) this.#keep();
    return this.size !== before;
  }

  /** @param {string} text @param {Road} road */
  #take(text, road) {
    this.roads.set(text, road);
    this.showing.see(text);
  }

  /** Forgets the payloads that were handed in, or all. @param {string[]} [which] */
  forget(which = this.payloads) {
    for (const one of which) this.roads.delete(one);
    this.showing = new Showing(this.roads.keys());
    this.#keep();
  }
}

/** Follows what a phone shows: which of its codes were seen. Another phone, or codes made anew, begin it anew. */
export class Showing {
  /** @type {import("../formats/return_frame.js").Head | null} */
  #head = null;
  /** @type {Set<number>} */
  #seen = new Set();

  /** @param {Iterable<string>} payloads  those seen before */
  constructor(payloads = []) {
    for (const payload of payloads) this.see(payload);
  }

  /** @param {string} payload */
  see(payload) {
    const head = headOf(payload);
    if (!head) return;
    const isSame = this.#head?.device === head.device && this.#head.showing === head.showing && this.#head.of === head.of;
    if (!isSame) this.#seen.clear();
    this.#head = head;
    this.#seen.add(head.at);
  }

  /** How many codes there are; 0 before the first one. */
  get of() { return this.#head?.of ?? 0; }

  /** The numbers of those that were not seen. */
  get missing() { return Array.from({ length: this.of }, (_, n) => n + 1).filter((at) => !this.#seen.has(at)); }

  get isWhole() { return this.of > 0 && this.missing.length === 0; }
}
