// Carries the log home: by itself, as often as it takes, believing only a sealed receipt.

import { erasedOnes, firstBatch, wholeLog } from "./batches.js";
import { getMeta, isUnsent, keptRecords, setMetas, storeEvents } from "./log_store.js";
import { markReceived } from "./received.js";
import { noteOtherRests } from "./other_rests.js";
import { restEnded } from "./rest_entry.js";
import { previewHandle } from "./place.js";
import { postSync, renewCookie } from "./sealed_post.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/** @typedef {import("./log_store.js").PackName} PackName */
/**
 * @typedef {object} State
 * @property {number} unsent  records that the therapist has not received
 * @property {number} total
 * @property {number} last_contact_ms  0 before the first answer
 * @property {number} oldest_unsent_ms  when the oldest unsent record was made, 0 where none is
 * @property {boolean} trying
 * @property {"" | "no_answer" | "unknown" | "revoked" | "differs" | "store"} problem  unknown: the clinic has no such phone
 * @property {number} clock_offset_ms  the server's clock less this phone's
 * @property {PackName | null} pack  the newest pack the server has for this phone
 */

const EVERY_MS = 60_000;
const FIRST_WAIT_MS = 5_000;
const LONGEST_WAIT_MS = 300_000;
const COOKIE_AGE_MS = 7 * 86_400_000;

/**
 * Tells pages how carrying stands: `state`, a CustomEvent<State>; `rest_ended`, where the therapist ended a rest; `other_rests`,
 * where what rests by another phone's finding has changed.
 */
export const carryEvents = new EventTarget();

/** @param {LogStore} db @param {import("./log_store.js").Kept[]} kept @param {import("./log_store.js").Kept[] | null} [whole] */
async function sendBatch(db, kept, whole = null) {
  const batch = whole ?? firstBatch(kept.filter(isUnsent));
  const sent_ms = Date.now();
  const answer = await postSync(db, {
    device: await getMeta(db, "device"), store: await getMeta(db, "store"), epoch: (await getMeta(db, "store_epoch")) ?? "",
    records: batch.map((one) => new TextDecoder().decode(one.bytes)), highest: kept.at(-1)?.seq ?? 0,
    kept_from: kept.find((one) => one.bytes.length > 0)?.seq ?? 0, erased: whole ? erasedOnes(kept) : [], sent_ms,
  });
  if (!answer) return null;
  const now = Date.now();
  const clock_offset_ms = Math.round(answer.server_ms - (sent_ms + now) / 2);
  await setMetas(db, { last_contact_ms: now, clock_offset_ms, disowned_ms: 0 });
  if (await restEnded(db, answer.rest_ended ?? 0)) carryEvents.dispatchEvent(new Event("rest_ended"));
  if (await noteOtherRests(db, answer.resting)) carryEvents.dispatchEvent(new Event("other_rests"));
  return { answer, sent: batch.length, marked: await markReceived(db, answer) };
}

/** @param {import("./log_store.js").Kept} kept */
function madeAtMs(kept) {
  const { at_min, utc_q } = JSON.parse(new TextDecoder().decode(kept.bytes));
  return (at_min - utc_q * 15) * 60_000;
}

/** @param {LogStore} db @returns {Promise<Omit<State, "trying" | "problem" | "pack">>} */
async function readState(db) {
  const kept = await keptRecords(db);
  const unsent = kept.filter(isUnsent);
  return {
    unsent: unsent.length, total: kept.filter((one) => one.bytes.length > 0).length, oldest_unsent_ms: unsent[0] ? madeAtMs(unsent[0]) : 0,
    last_contact_ms: (await getMeta(db, "last_contact_ms")) ?? 0, clock_offset_ms: (await getMeta(db, "clock_offset_ms")) ?? 0,
  };
}

/**
 * One page's carrier. Two pages may send at once: the server takes everything in once.
 */
class Carrier {
  /** @param {LogStore} db */
  constructor(db) {
    this.db = db;
    this.failures = 0;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.timer = undefined;
    /** @type {Promise<State> | null} */
    this.running = null;
    this.again = false;
    this.stopped = false;
    /** @type {State} */
    this.last = { unsent: 0, total: 0, last_contact_ms: 0, oldest_unsent_ms: 0, trying: false, problem: "", clock_offset_ms: 0, pack: null };
  }

  state() {
    return this.last;
  }

  /** Sends what is unsent now, and says how it stands afterwards. @returns {Promise<State>} */
  now() {
    this.again = this.running !== null;
    this.running ??= this.round().finally(() => {
      this.running = null;
      if (this.again && !this.stopped) void this.now();
    });
    return this.running;
  }

  async round() {
    clearTimeout(this.timer);
    try {
      await this.say({ trying: true });
      const problem = await this.carry();
      this.failures = ["no_answer", "unknown"].includes(problem) ? this.failures + 1 : 0;
      await this.say({ trying: false, problem });
    } catch (error) {
      console.error(error);
      this.failures += 1;
      await this.say({ trying: false, problem: "store" }).catch(() => undefined);
    }
    if (!this.stopped) this.timer = setTimeout(() => this.tick(), this.wait());
    return this.last;
  }

  /** @returns {Promise<State["problem"]>} */
  async carry() {
    for (;;) {
      const before = await keptRecords(this.db);
      let done = await sendBatch(this.db, before);
      // Two copies of one store (a phone moved to another): shown the whole log, the clinic knows whose chain to tell.
      if (done && done.marked < 0) done = await sendBatch(this.db, before, wholeLog(before));
      if (!done) return (await getMeta(this.db, "disowned_ms")) ? "unknown" : "no_answer";
      this.last = { ...this.last, pack: done.answer.pack };
      if (done.marked < 0) return "differs";
      const left = (await keptRecords(this.db)).some(isUnsent);
      // Nothing sent and yet something left: the clinic's store went back and asks for it again.
      if (!left || (done.sent > 0 && done.marked === 0)) return this.ended(done.answer.revoked);
    }
  }

  /** @param {boolean} revoked @returns {Promise<State["problem"]>} */
  async ended(revoked) {
    if (revoked) return "revoked";
    const renewed = (await getMeta(this.db, "cookie_renewed_at")) ?? 0;
    if (Date.now() - renewed > COOKIE_AGE_MS) await renewCookie(this.db);
    return "";
  }

  wait() {
    if (this.failures === 0) return EVERY_MS;
    return Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** this.failures) * (0.5 + Math.random() / 2);
  }

  tick() {
    if (document.visibilityState === "visible") void this.now();
    else this.timer = setTimeout(() => this.tick(), EVERY_MS);
  }

  /** @param {Partial<State>} news */
  async say(news) {
    this.last = { ...this.last, ...(await readState(this.db)), ...news };
    carryEvents.dispatchEvent(new CustomEvent("state", { detail: this.last }));
  }
}

/** @typedef {{now: () => Promise<State>, state: () => State, stop: () => void}} Carrying */

/** One carrier a page, however many parts of it ask. @type {Map<string, Carrying>} */
const carrying = new Map();

/**
 * Starts carrying this page's log home: now, when the network or the page comes back, after a record, each minute.
 * @param {LogStore} db @returns {Carrying}
 */
export function startCarrying(db) {
  const started = carrying.get(db.handle) ?? start(db);
  carrying.set(db.handle, started);
  return started;
}

/** @param {LogStore} db @returns {Carrying} */
function start(db) {
  const carrier = new Carrier(db);
  if (previewHandle()) return { now: async () => carrier.state(), state: () => carrier.state(), stop() {} }; // nothing leaves a preview
  const now = () => void carrier.now();
  const seen = () => { if (document.visibilityState === "visible") now(); };
  addEventListener("online", now);
  document.addEventListener("visibilitychange", seen);
  storeEvents.addEventListener("record", now);
  now();
  return {
    now: () => carrier.now(),
    state: () => carrier.state(),
    stop: () => {
      carrier.stopped = true;
      carrying.delete(db.handle);
      clearTimeout(carrier.timer);
      removeEventListener("online", now);
      document.removeEventListener("visibilitychange", seen);
      storeEvents.removeEventListener("record", now);
    },
  };
}
