/** The timer: starts by a tap at a rise, leads through the session, and never takes its own stop for the unit's. */
import { openAudio, loadSounds, unlock } from "../parts/audio.js";
import { begin, draftOf, exerciseOf } from "../parts/begin.js";
import { readChoices } from "../parts/choices.js";
import { cutSheet } from "../parts/cue_cut.js";
import { every, one, onPress } from "../parts/elements.js";
import { lookAtMs, sheetToLook } from "../parts/half_way.js";
import { keepAwake, vibrate } from "../parts/keep_awake.js";
import { listenMode } from "../parts/listen_mode.js";
import { getMeta, localNow, setMeta } from "../parts/log_store.js";
import { practice } from "../parts/practice.js";
import { ENDED, passedBefore } from "../parts/session.js";
import { openSheet, showView } from "../parts/sheets.js";
import { pickSounds } from "../parts/sound_list.js";
import { remind } from "../parts/still_on.js";
import { stoppedSheet } from "../parts/stopped.js";
import { wireStopping } from "../parts/stopping.js";
import { askStrengths } from "../parts/strength_asking.js";
import { changesAt, timerFace } from "../parts/timer_face.js";

const FIRST_REMINDER_MS = 59_500; // so far back that the first of the minutely reminders comes at once

const here = await begin(document, "timer");
const { say } = here;
const exercise = exerciseOf(here);
const draft = draftOf(here);
const readJson = async (/** @type {string} */ path) => (await fetch(path)).json();
const whole = await readJson(`data/cues-${exercise.exercise}.json`);
const lookMs = lookAtMs(exercise, draft);
const sheet = lookMs ? sheetToLook(whole, lookMs, say("phone.look.half_way")) : cutSheet(whole, draft.planned_s * 1000);
const context = openAudio();
const wanted = new Set(sheet.phrases.flatMap((phrase) => [phrase.tone, phrase.clip]));
const loading = readJson("data/sounds.json").then((listed) => loadSounds(context, pickSounds(listed, wanted)));
const choices = await readChoices(here.db);

const timer = one(document, ".timer");
const tapButton = /** @type {HTMLButtonElement} */ (one(document, "[data-tap]"));
const pauseButton = /** @type {HTMLButtonElement} */ (one(document, "[data-pause]"));
const pauseSheet = /** @type {HTMLDialogElement} */ (one(document, "[data-sheet=pause]"));
const stopSheet = /** @type {HTMLDialogElement} */ (one(document, "[data-sheet=stop]"));
const hint = one(document, "[data-hint]");
const different = one(document, "[data-different]");
const unpaced = exercise.unpaced ?? "";
const face = timerFace(timer, one(document, "[data-eyebrow]"), sheet, say, matchMedia("(prefers-reduced-motion: reduce)").matches, unpaced !== "" || sheet.drive === "steady");
const clocks = /** @type {Record<string, import("../parts/lining_up.js").Remembered>} */ ((await getMeta(here.db, "clocks")) ?? {});
const listening = lookMs ? null : await listenMode(here.db, choices, { exercise: exercise.exercise, session_s: draft.planned_s });
const listenButton = one(document, "[data-listen]");
const { sounds, failed } = await loading;
if (failed.length > 0) hint.textContent = say("phone.timer.some_silent");

const session = practice({
  draft, sheet, sounds, context, choices, makePlayer: listening?.makePlayer, reactionMs: here.plan.reaction_ms, ownSign: exercise.own_sign,
  noticedMs: exercise.tap_lag_ms ?? 0, unpaced: unpaced !== "", walking: unpaced === "walking",
  remembered: clocks[exercise.unit] ?? null, onCue: given, onEnd: finish,
  onStopped: () => {
    if (over) return;
    stopped.show();
    void here.save(session.latest());
  },
});
const { player } = session;
const stopped = stoppedSheet(document, { wakeSound: async () => listening?.on || unlock(context), onGoOn: (withSound) => goOn(withSound) });
const strengths = askStrengths(every(document, "[data-ask-strength]"), {
  draft, say, onNote: (strength) => { session.note({ strength }); void here.save(session.latest()); },
});
let cycle = 0;
let startOnly = false;
let over = false;
let pauseCounted = false;
face.minutes(passedBefore(draft));

/** @param {import("../parts/cue_sounds.js").Cue} cue */
function given(cue) {
  face.show(cue);
  session.step?.follow(performance.now());
  if (choices.vibration) vibrate(cue.phrase.phase);
  if (cue.phrase.phase === "finished" && !lookMs) return void finish();
  if (cue.phrase.phase === "rest") strengths.inRest(changesAt(sheet, cue) - cue.atMs);
  else strengths.away();
  if (cue.cycle === cycle) return;
  if (cycle === 1 && !startOnly) hint.textContent = "";
  cycle = cue.cycle;
  void here.save(session.latest());
}

function frame() {
  if (player.state === "running" || player.state === "stalled") face.frame(player.positionMs());
  requestAnimationFrame(frame);
}

function eachSecond() {
  const now = performance.now();
  session.step?.follow(now);
  const asked = session.step?.wantsTap(now) ?? false;
  if (asked && !tapButton.classList.contains("asked")) hint.textContent = hint.dataset["again"] ?? "";
  else if (!asked && tapButton.classList.contains("asked")) hint.textContent = "";
  tapButton.classList.toggle("asked", asked);
  if (asked) strengths.away();
}

/** @param {import("../parts/lining_up.js").Estimate | null} found */
function afterTap(found) {
  if (!found) return;
  startOnly = found.phaseOnly;
  different.hidden = !found.setDifferently;
  const kept = session.step?.toRemember();
  if (kept) void setMeta(here.db, "clocks", { ...clocks, [exercise.unit]: kept });
}

/** The cues are over, the unit may not be: from the first word of it nothing else is shown. This page stays, since only here is sound sure to come without a tap. */
async function finish() {
  if (over) return undefined;
  over = true;
  if (lookMs) return here.go(`look-${exercise.exercise}`, { ...session.latest(), stage: "zero" });
  const ended_ms = Date.now();
  openSheet(document, "ended");
  if (!listening?.on) remind({ context, sheet, sounds, choices, endedMs: ended_ms }); // they are in the session's sound
  await here.save({ ...session.latest(), stage: "end", ended: ENDED.done, ended_ms });
}

/** The unit is paused or off: how many minutes are left, and the way to them. */
function fromZero() {
  one(pauseSheet, "[data-still-left]").textContent = face.minutes(session.latest().passed_ms);
  showView(pauseSheet, "pause-view", "again");
}

/** @param {boolean} withSound */
function goOn(withSound) {
  if (!withSound) player.setVoice("none");
  resume();
}

function resume() {
  if (player.state !== "paused" || stopped.isOpen() || pauseSheet.open || stopSheet.open) return;
  session.resume();
  void here.save(session.latest());
}

tapButton.addEventListener("click", async (event) => {
  const tapMs = event.timeStamp;
  const first = player.state === "ready";
  const unlocked = unlock(context);
  afterTap(session.tap(tapMs));
  if (first) {
    setInterval(eachSecond, 1000);
    if (draft.cued_ms === 0) session.note(localNow());
    pauseButton.disabled = false;
    hint.textContent = unpaced ? "" : say(startOnly ? "phone.timer.start_only" : listening?.on ? "phone.timer.put_away" : "phone.timer.in_step");
    tapButton.hidden = sheet.drive !== "cycled" || unpaced !== "";
    for (const button of every(document, "[data-count-one]")) button.hidden = false;
    if (unpaced === "walking") openSheet(document, "pocket");
    listenButton.hidden = true;
    if (listening?.on) listening.takeControls(exercise.title, document);
    else keepAwake(() => { one(document, "[data-awake]").hidden = false; });
    requestAnimationFrame(frame);
  }
  await here.save(session.latest());
  await unlocked;
});

onPress(document, "[data-count-one]", () => {
  session.countOne();
  face.countTo(Math.max(...session.latest().contractions));
  void here.save(session.latest());
});
listenButton.hidden = listening === null;
listenButton.setAttribute("aria-pressed", String(Boolean(listening?.on)));
listenButton.addEventListener("click", async () => {
  await listening?.turn();
  await here.go(`timer-${exercise.exercise}`, draft);
});
pauseButton.addEventListener("click", () => {
  session.hush();
  pauseCounted = false;
  showView(pauseSheet, "pause-view", "ask");
  void here.save(session.latest());
});
onPress(pauseSheet, "[data-unit]", (button) => {
  if (!pauseCounted) session.note({ pauses_n: session.latest().pauses_n + 1 });
  pauseCounted = true;
  if (button.dataset["unit"] === "on") showView(pauseSheet, "pause-view", "on");
  else fromZero();
});
onPress(pauseSheet, "[data-again]", () => {
  session.wentOn();
  if (session.latest().passed_ms >= sheet.session_ms) pauseSheet.close(); // its time went by meanwhile: the end comes at once
  else fromZero();
});
onPress(pauseSheet, "[data-ask-again]", () => showView(pauseSheet, "pause-view", "ask"));
onPress(pauseSheet, "[data-from-zero]", () => here.go(`zero-${exercise.exercise}`, { ...session.latest(), stage: "zero" }));
pauseSheet.addEventListener("close", resume);
onPress(document, "[data-open=stop]", () => session.hush());
stopSheet.addEventListener("close", resume);
onPress(document, "[data-to-end]", () => here.go(`end-${exercise.exercise}`, draftOf(here)));
document.addEventListener("visibilitychange", () => player.check());
document.addEventListener("resume", () => player.check());
wireStopping(here, { latest: session.latest, onStop: () => player.stop(), isOver: () => over, onAsked: () => {
  over = true;
  player.stop();
  vibrate("finished");
  remind({ context, sheet, sounds, choices, endedMs: Date.now() - FIRST_REMINDER_MS });
} });
