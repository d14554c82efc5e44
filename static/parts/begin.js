/** How every page of a pack starts: store, plan and texts opened, the log carried home, and a session under way found again. */
import { startCarrying } from "./carry_home.js";
import { withNewestDaysOff } from "./days_off.js";
import { every, make, one } from "./elements.js";
import { heldRecords, holdUnwritten, writeHeld } from "./held_records.js";
import { closeDraft, dropDraft, localNow, openStore, readDraft, saveDraft, StoreTrouble, storeEvents, unwritten } from "./log_store.js";
import { handle, previewHandle, root } from "./place.js";
import { preparePreview } from "./preview_store.js";
import { entry, sessionFields, unitMayBeOn } from "./session.js";
import { wireSheets } from "./sheets.js";
import { loadStrings } from "./strings.js";

/**
 * @typedef {import("./session.js").Draft} Draft
 * @typedef {import("./session.js").Stage} Stage
 * @typedef {import("./day.js").Plan} Plan
 * @typedef {import("./day.js").PlanExercise} PlanExercise
 *
 * @typedef {object} Here
 * @property {Document} page
 * @property {import("./log_store.js").LogStore} db
 * @property {Plan} plan
 * @property {import("./strings.js").T} say
 * @property {Draft | null} draft
 * @property {number} exercise  0 on a page of no exercise
 * @property {() => number} nowMin
 * @property {(draft: Draft) => Promise<boolean>} save
 * @property {(path: string, draft?: Draft) => Promise<void>} go  goes on to a page, handing it the draft
 */

const LOCK_MS = 1500;
const never = () => new Promise(() => {});

/**
 * Starts a page. Does not come back where the page leads elsewhere; where the store cannot be opened the page stays readable.
 * @param {Document} page
 * @param {Stage | null} [stage]  of the session; null for a page outside it
 * @param {"all" | "none"} [guard]  none: a session under way is left alone
 * @returns {Promise<Here>}
 */
export async function begin(page, stage = null, guard = "all") {
  wireSheets(page);
  reloadWhenBack();
  try {
    const here = await open(page, stage);
    if (guard === "all") await enter(here, stage);
    return here;
  } catch (trouble) {
    page.body.classList.add("plain");
    const reason = trouble instanceof StoreTrouble ? trouble.reason : "broken";
    if (reason === "empty") location.replace(`${root()}open-again`);
    else one(page, "[data-trouble]").hidden = false;
    throw trouble;
  }
}

/**
 * The exercise of a draft or of a page.
 * @param {Here} here
 * @param {number} [number]
 * @returns {PlanExercise}
 */
export function exerciseOf(here, number = here.exercise) {
  const found = here.plan.exercises.find((each) => each.exercise === number) ?? here.plan.exercises[0];
  if (!found) throw new Error("a plan without an exercise");
  return found;
}

/**
 * The draft of a page that is not shown without one.
 * @param {Here} here
 */
export function draftOf(here) {
  if (!here.draft) throw new Error("no session under way");
  return here.draft;
}

/**
 * Takes the right to the session; false where another window has it.
 * @returns {Promise<boolean>}
 */
export function onlyWindow() {
  if (!navigator.locks) return Promise.resolve(true);
  return new Promise((settle) => {
    const held = () => { settle(true); return never(); };
    navigator.locks.request(`wattlebird-session-${handle()}`, { signal: AbortSignal.timeout(LOCK_MS) }, held).catch(() => settle(false));
  });
}

/**
 * @param {Document} page
 * @param {Stage | null} stage
 * @returns {Promise<Here>}
 */
async function open(page, stage) {
  if (previewHandle()) await preparePreview();
  const [db, say, held] = await Promise.all([openStore(), loadStrings(), loadPlan()]);
  const plan = await withNewestDaysOff(db, held);
  showTroubles(page, db, say);
  await writeHeld(db);
  startCarrying(db);
  const handed = takeHanded(stage);
  const draft = handed ?? /** @type {Draft | null} */ (await readDraft(db));
  const asked = page.body.dataset["exercise"] ?? new URLSearchParams(location.search).get("exercise") ?? "0";
  /** @type {Here} */
  const here = {
    page, db, plan, say, draft, exercise: Number(asked), nowMin: () => localNow().at_min,
    save: (changed) => { here.draft = changed; return saveDraft(db, changed); },
    go: async (path, changed) => {
      if (changed) { await here.save(changed); hand(changed); }
      location.assign(path);
      await never(); // what comes next belongs to the next page
    },
  };
  handedOver = handed !== null;
  return here;
}

let handedOver = false;

/**
 * @param {Here} here
 * @param {Stage | null} stage
 */
async function enter(here, stage) {
  const { db, draft } = here;
  if (heldRecords().some((held) => held.closesDraft)) return leave("send"); // it can only be shown, or written
  const way = entry(stage, draft, handedOver, Date.now());
  if (way === "found" || way === "today") return leave(way);
  if (way === "resume" && draft) return leave(pageOf(draft));
  if (way === "drop") await dropDraft(db);
  if (way === "close" && draft) await closeDraft(db, sessionFields(draft, exerciseOf(here, draft.exercise).shows));
  if (way === "drop" || way === "close") {
    here.draft = null;
    if (stage !== null) return leave("today");
  }
  if (stage !== null && unitMayBeOn(stage) && !(await onlyWindow())) return leave("found");
  return undefined;
}

/** @param {Draft} draft */
export function pageOf(draft) {
  return draft.stage === "skin" ? `skin?exercise=${draft.exercise}` : `${draft.stage}-${draft.exercise}`;
}

/** @param {string} path */
function leave(path) {
  location.replace(path);
  return never();
}

async function loadPlan() {
  const response = await fetch("data/plan.json");
  return /** @type {Promise<Plan>} */ (response.json());
}

/**
 * Hands a draft to the page that comes next: only that page may go on without asking whether the unit is on.
 * @param {Draft} draft
 */
function hand(draft) {
  try {
    sessionStorage.setItem(`handed-${handle()}`, JSON.stringify(draft));
  } catch {
    // without it the next page asks whether the unit is on: slower, never wrong
  }
}

/**
 * @param {Stage | null} stage
 * @returns {Draft | null}
 */
function takeHanded(stage) {
  try {
    const key = `handed-${handle()}`;
    const kept = sessionStorage.getItem(key);
    sessionStorage.removeItem(key);
    const draft = /** @type {Draft | null} */ (JSON.parse(kept ?? "null"));
    return draft && draft.stage === stage ? draft : null;
  } catch {
    return null;
  }
}

/** A page out of the browser's own back memory has old numbers: it starts anew. */
function reloadWhenBack() {
  addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
}

/**
 * Says what is wrong with the store; what could not be written may go to the therapist as a code.
 * @param {Document} page
 * @param {import("./log_store.js").LogStore} db
 * @param {import("./strings.js").T} say
 */
function showTroubles(page, db, say) {
  const banner = one(page, "[data-trouble]");
  storeEvents.addEventListener("trouble", (event) => {
    banner.textContent = say(`phone.trouble.${/** @type {CustomEvent} */ (event).detail.reason}`);
    banner.hidden = false;
    if (unwritten.size > 0) showAsCode(banner, db, say);
  });
}

/** @param {HTMLElement} banner @param {import("./log_store.js").LogStore} db @param {import("./strings.js").T} say */
function showAsCode(banner, db, say) {
  const button = make(banner.ownerDocument, "button", "btn", say("phone.trouble.show"));
  button.addEventListener("click", async () => {
    if (await holdUnwritten(db)) location.assign("send");
    else every(banner, "button").forEach((each) => each.remove()); // it stays with the page that asked
  });
  banner.append(button);
}
