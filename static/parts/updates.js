// A new plan or a new release: stored whole in the background, announced, never during a session.

import { carryEvents } from "./carry_home.js";
import { append, getMeta, readDraft, setMeta, storeEvents } from "./log_store.js";
import { havePack, letNewWorkerTakeOver, storePack } from "./pack_keeper.js";
import { inPending, pageName, root } from "./place.js";

/** @typedef {import("./log_store.js").LogStore} LogStore */
/** @typedef {import("./log_store.js").PackName} PackName */
/** @typedef {PackName & {unit_changed: boolean, words: string[]}} Offer */
/** @typedef {{onOffer?: (offer: Offer) => void, onProgress?: import("./pack_keeper.js").OnProgress, onTrouble?: (reason: string) => void}} Told */

const QUIET_PAGES = new Set(["today", "log", "done"]);

/** Gives the plan that waits, stored whole. @param {LogStore} db @returns {Promise<PackName | null>} */
export function pendingPack(db) {
  return getMeta(db, "pending_pack");
}

/**
 * Makes a stored pack the one in use: one transaction, refused while a session is under way, with its record.
 * @param {LogStore} db @param {PackName} pack @returns {Promise<"current" | "draft" | "missing">}
 */
export async function makeCurrent(db, pack) {
  if (!(await havePack(db.handle, pack.pack_id))) return "missing";
  await letNewWorkerTakeOver(); // first: once the record is written it goes home, which would wake the old worker up
  const name = { pack_id: pack.pack_id, version: pack.version };
  const taken = await append(db, "pack_taken", { version: pack.version, pack: pack.pack_id }, {
    refuseDraft: true,
    also: (tx) => {
      tx.objectStore("meta").put({ name: "current_pack", value: name });
      tx.objectStore("meta").put({ name: "pending_pack", value: null });
    },
  });
  return taken ? "current" : "draft";
}

/** @param {PackName} pending @param {number} version @param {string} handle @returns {Promise<Offer>} */
async function readOffer(pending, version, handle) {
  const plan = await fetch(`${root(handle)}next/data/plan.json`).then((response) => response.json());
  const news = /** @type {{version: number, words: string[], unit_changed: boolean}[]} */ (plan.changes ?? [])
    .filter((change) => change.version > version && change.version <= pending.version);
  return { ...pending, words: news.flatMap((change) => change.words), unit_changed: news.some((change) => change.unit_changed) };
}

class Updates {
  /** @param {LogStore} db @param {Told} told */
  constructor(db, told) {
    this.db = db;
    this.told = told;
    /** @type {Promise<void> | null} */
    this.running = null;
    this.offered = "";
    /** @type {PackName | null} */
    this.newest = null;
    this.again = false;
  }

  /** Looks once more at what waits; heard of during a look, it is looked at right after. @param {PackName | null} [newest] */
  look(newest = this.newest) {
    this.again = this.running !== null;
    this.newest = newest;
    this.running ??= this.go()
      .catch((error) => { console.error(error); this.told.onTrouble?.("worker"); })
      .finally(() => {
        this.running = null;
        if (this.again) void this.look();
      });
    return this.running;
  }

  async go() {
    const { newest } = this;
    const current = /** @type {PackName | null} */ (await getMeta(this.db, "current_pack"));
    if (current && !(await havePack(this.db.handle, current.pack_id))) await this.store(current);
    const pending = await pendingPack(this.db);
    if (newest && newest.pack_id !== current?.pack_id && newest.pack_id !== pending?.pack_id) await this.fetchNew(newest);
    await this.offer(current);
  }

  /** @param {PackName} pack */
  async store(pack) {
    const outcome = await storePack(this.db, pack.pack_id, (progress) => this.told.onProgress?.(progress));
    if (outcome !== "stored" && outcome !== "network") this.told.onTrouble?.(outcome);
    return outcome === "stored";
  }

  /** @param {PackName} newest */
  async fetchNew(newest) {
    if (await this.store(newest)) await setMeta(this.db, "pending_pack", { pack_id: newest.pack_id, version: newest.version });
  }

  /** @param {PackName | null} current */
  async offer(current) {
    const pending = await pendingPack(this.db);
    if (!pending || inPending() || (await readDraft(this.db))) return;
    if (!current || pending.version === current.version) await this.takeQuietly(pending);
    else if (this.offered !== pending.pack_id) {
      this.offered = pending.pack_id;
      this.told.onOffer?.(await readOffer(pending, current.version, this.db.handle));
    }
  }

  /** The same plan in a newer release changes nothing for the client: it is taken where nothing is under way. @param {PackName} pending */
  async takeQuietly(pending) {
    if (QUIET_PAGES.has(pageName()) && (await makeCurrent(this.db, pending)) === "current") location.reload();
  }
}

/**
 * Keeps this phone's plan up to date: heals an emptied cache, stores what the carrier hears of, offers what is whole.
 * @param {LogStore} db @param {Told} told
 */
export function watchUpdates(db, told) {
  const updates = new Updates(db, told);
  /** @param {Event} event */
  const heard = (event) => {
    const { pack, trying } = /** @type {CustomEvent<import("./carry_home.js").State>} */ (event).detail;
    if (pack && !trying) void updates.look(pack);
  };
  const draftChanged = () => void updates.look();
  carryEvents.addEventListener("state", heard);
  storeEvents.addEventListener("draft", draftChanged);
  void updates.look();
  return {
    look: () => updates.look(),
    stop: () => {
      carryEvents.removeEventListener("state", heard);
      storeEvents.removeEventListener("draft", draftChanged);
    },
  };
}
