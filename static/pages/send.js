/** Show my log: as codes for a camera or as a sealed file, with no network; and the digits that say that it arrived. */
import { begin } from "../parts/begin.js";
import { chosen, frameMaker, ONE_SYMBOL, SMALLER } from "../parts/code_frames.js";
import { CodeLoop } from "../parts/code_loop.js";
import { drawSymbol, symbolOf } from "../parts/code_writer.js";
import { one, onPress } from "../parts/elements.js";
import { heldAsKept, heldRecords, writeHeld } from "../parts/held_records.js";
import { keepAwake } from "../parts/keep_awake.js";
import { dayOf } from "../parts/local_time.js";
import { saveFile } from "../parts/file_saving.js";
import { canShare, logFile, share } from "../parts/log_file.js";
import { allRecords, getMeta, storeEvents } from "../parts/log_store.js";
import { enterDigits, stillToWait } from "../parts/receipt_entry.js";

/** @typedef {import("../parts/code_frames.js").Frame} Frame */

// a session that waits here to be saved would else lead back to its own page
const here = await begin(document, null, heldRecords().some((held) => held.closesDraft) ? "none" : "all");
const { say, db } = here;
const framesOf = await frameMaker(db);
const code = /** @type {string} */ (await getMeta(db, "code"));
const canvas = /** @type {HTMLCanvasElement} */ (one(document, "[data-code]"));
const holdButton = one(document, "[data-hold]");
const smallerButton = one(document, "[data-smaller]");
const field = /** @type {HTMLInputElement} */ (one(document, "[data-digits-field]"));
const answer = one(document, "[data-digits-answer]");
const enterButton = /** @type {HTMLButtonElement} */ (one(document, "[data-digits-enter]"));

/** @type {Frame[]} */
let frames = [];
/** @type {CodeLoop | null} */
let loop = null;
/** @type {File | null} */
let file = null;

const which = () => /** @type {import("../parts/code_frames.js").Which} */ (
  /** @type {HTMLInputElement} */ (one(document, "[name=which]:checked")).value);
const isSmaller = () => smallerButton.getAttribute("aria-pressed") === "true";

/** @param {number} at */
function draw(at) {
  const frame = frames[at];
  if (!frame) return;
  const room = Math.min(one(document, ".code").clientWidth, document.documentElement.clientHeight);
  drawSymbol(canvas, symbolOf(frame.payload, frame.version), room, devicePixelRatio);
  const part = frame.part ?? { at: at + 1, of: frames.length };
  one(document, "[data-count]").textContent = part.of > 1 ? say("phone.send.count", { at: part.at, n: part.of }) : say("phone.send.single");
}

async function show() {
  const held = await heldAsKept();
  const log = [...await allRecords(db), ...held];
  const shown = chosen(log, which(), here.nowMin());
  const made = await framesOf(shown, isSmaller() ? SMALLER : ONE_SYMBOL);
  const whole = await framesOf(shown, Infinity);
  loop?.hold();
  frames = made.filter((frame) => frame.version > 0);
  file = logFile(code, dayOf(here.nowMin()), whole.map((frame) => frame.payload));
  one(document, "[data-held]").hidden = held.length === 0;
  one(document, "[data-codes]").hidden = frames.length === 0;
  one(document, "[data-many]").hidden = frames.length < 2;
  one(document, "[data-file]").hidden = shown.length === 0;
  one(document, "[data-digits]").hidden = answer.textContent === "" && log.every((kept) => kept.received_ms > 0);
  const shares = canShare(file);
  one(document, "[data-share]").hidden = !shares;
  if (!shares) one(document, "[data-file] h2").textContent = say("phone.send.file_title_save"); // it can only be saved here
  tell("[data-nothing]", shown.length > 0 ? "" : say(which() === "unsent" ? "phone.send.nothing_unsent" : "phone.send.nothing"));
  tell("[data-too-long]", frames.length === made.length ? "" : say("phone.send.too_long"));
  if (frames.length > 0) loop = new CodeLoop(frames.length, draw);
  showHold();
}

/** @param {string} where @param {string} words */
function tell(where, words) {
  one(document, where).textContent = words;
  one(document, where).hidden = words === "";
}

function showHold() {
  holdButton.setAttribute("aria-pressed", String(loop?.held ?? false));
}

onPress(document, "[data-hold]", () => {
  if (loop?.held) loop.goOn();
  else loop?.hold();
  showHold();
});
onPress(document, "[data-next]", () => { loop?.next(); showHold(); });
onPress(document, "[data-smaller]", async () => {
  smallerButton.setAttribute("aria-pressed", String(!isSmaller()));
  await show();
});
for (const choice of document.querySelectorAll("[name=which]")) choice.addEventListener("change", show);

onPress(document, "[data-share]", async () => {
  const sent = file && (await share(file));
  one(document, "[data-file-answer]").textContent = say(sent ? "phone.send.shared_file" : "phone.send.not_shared");
});
onPress(document, "[data-save]", () => {
  if (!file) return;
  saveFile(document, file);
  one(document, "[data-file-answer]").textContent = say("phone.send.saved_file");
});

onPress(document, "[data-write-held]", async () => {
  if (await writeHeld(db)) location.reload(); // the page starts anew with what is saved
  else tell("[data-held] p", say("phone.send.held_still"));
});

/** Opens the field again when the minute is over. @param {number} ms */
function pause(ms) {
  enterButton.disabled = ms > 0;
  if (ms > 0) setTimeout(() => { enterButton.disabled = false; answer.textContent = say("phone.send.digits.again"); }, ms);
}

one(document, "[data-digits]").addEventListener("submit", async (event) => {
  event.preventDefault();
  const { outcome, wait_ms } = await enterDigits(db, field.value, Date.now());
  answer.textContent = say(`phone.send.digits.${outcome}`);
  pause(wait_ms);
  if (["received", "part", "already"].includes(outcome)) field.value = "";
});

keepAwake(() => { one(document, "[data-awake]").textContent = say("phone.timer.keep_screen_on"); });
for (const name of ["received", "record"]) storeEvents.addEventListener(name, show);
addEventListener("resize", () => draw(loop?.at ?? 0));
await show();
pause(await stillToWait(db, Date.now()));
