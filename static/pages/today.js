/** Today: what is done and to go, what stands in the way, and one thing to press. */
import { begin, exerciseOf, pageOf } from "../parts/begin.js";
import { startCarrying, carryEvents } from "../parts/carry_home.js";
import { dayState, enoughKey } from "../parts/day.js";
import { doneTick, every, linkButton, make, one, onPress } from "../parts/elements.js";
import { saveFile } from "../parts/file_saving.js";
import { clockWords, dayOf, dayWords, partOfDay } from "../parts/local_time.js";
import { allRecords, dropDraft, getMeta, writeRecord } from "../parts/log_store.js";
import { minutesDone } from "../parts/minutes_done.js";
import { otherRests } from "../parts/other_rests.js";
import { root } from "../parts/place.js";
import { eraseOld } from "../parts/record_keeping.js";
import { sentWords } from "../parts/sent_words.js";
import { NOT_ANSWERED } from "../parts/session.js";
import { openSheet } from "../parts/sheets.js";
import { lookDue } from "../parts/skin_due.js";
import { toTell } from "../parts/telling.js";
import { unsentAge } from "../parts/unsent_age.js";
import { makeCurrent, watchUpdates } from "../parts/updates.js";
import { showPads } from "./new_pads.js";
import { callCard, showTelling } from "./tell_first.js";

const ABOUT_PAIN = 2;
const WHY_OTHER = 7;

const here = await begin(document);
const { say, plan } = here;
const movedTo = await getMeta(here.db, "moved_to");
if (movedTo) location.replace(`/my/${movedTo}/today`);
const language = plan.language;
const nowMin = here.nowMin();
const log = await allRecords(here.db);
const ended = /** @type {number} */ ((await getMeta(here.db, "rest_ended")) ?? 0);
const told = /** @type {number} */ ((await getMeta(here.db, "told_of")) ?? 0);
const day = dayState(plan, log, nowMin, ended, await otherRests(here.db), told);
const telling = day.kind === "tell" ? toTell(plan, log, ended) : null;
if (here.draft && day.resting.includes(here.draft.exercise)) { // another phone's finding came while this one was set up
  await dropDraft(here.db);
  here.draft = null;
}
const due = lookDue(plan, log, nowMin);
const name = /** @type {string} */ ((await getMeta(here.db, "first_name")) ?? "");
const actions = one(document, "[data-actions]");
const notices = one(document, "[data-notices]");

/** What stands in the way, where something does. @returns {string} */
function obstacle() {
  const time = clockWords(day.not_before_min, language);
  const another = dayOf(day.not_before_min) !== dayOf(nowMin);
  switch (day.kind) {
    case "before": return say("phone.today.first_day", { day: dayWords(plan.first_day, language) });
    case "wait": case "later_today": return say(another ? "phone.today.enough" : `phone.today.${day.kind}`, { time });
    case "enough": return say(enoughKey(day));
    case "tell": return say(telling && dayOf(telling.at_min) === dayOf(nowMin) ? "phone.tell.today" : "phone.tell.first");
    case "day_off": return dayOff();
    case "over": case "none": case "no_practice": return say(`phone.today.${day.kind}`);
    default: return "";
  }
}

/** An agreed day off, and when practice starts again. */
function dayOff() {
  const off = plan.days_off[dayOf(nowMin)];
  return off?.again ? say("phone.today.day_off_again", { day: dayWords(off.again, language) }) : say("phone.today.day_off");
}

function greeting() {
  const part = partOfDay(nowMin);
  const hello = name ? say(`phone.today.hello.${part}`, { name }) : say(`phone.today.hello_nobody.${part}`);
  const count = day.done_n > 0 ? "some" : "all_to_go";
  return `${hello} ${obstacle() || say(`phone.today.count.${count}`, { done: day.done_n, to_go: day.to_go_n })}`;
}

/** @param {import("../parts/day.js").Slot} slot */
function card(slot) {
  const isNext = slot === day.next && day.kind === "ready";
  const item = make(document, "li", isNext ? "card slot next" : "card slot");
  const row = make(document, "div", "row");
  const words = make(document, "div", "grow");
  words.append(make(document, "strong", "", say(`phone.slot.${slot.slot}`)), make(document, "p", "", slotWords(slot)));
  if (slot.state === "done") row.append(doneTick(document)); // an empty ring would look like something to tap
  row.append(words);
  item.append(row);
  if (isNext) item.append(...rhythm(slot.exercise));
  return item;
}

/** @param {import("../parts/day.js").Slot} slot */
function slotWords(slot) {
  const { title } = exerciseOf(here, slot.exercise);
  if (slot.state === "to_go") return say("phone.today.to_do", { minutes: say("phone.minutes", { n: Math.round(slot.session_s / 60) }), title });
  const minutes = minutesDone(say, slot.cued_s);
  return say(slot.state === "done" ? "phone.today.done_at" : "phone.today.stopped", { minutes, time: clockWords(slot.at_min, language) });
}

/** @param {number} exercise */
function rhythm(exercise) {
  const drawn = /** @type {HTMLTemplateElement | null} */ (document.querySelector(`[data-rhythm="${exercise}"]`));
  return drawn ? [drawn.content.cloneNode(true)] : [];
}

function showActions() {
  actions.replaceChildren();
  if (here.draft) {
    actions.append(linkButton(document, pageOf(here.draft), say("phone.today.go_on")));
    actions.append(linkButton(document, `skin?exercise=${here.draft.exercise}&again=1`, say("phone.today.start_again"), "btn quiet"));
  } else if (day.kind === "ready" && day.next) {
    actions.append(linkButton(document, `skin?exercise=${day.next.exercise}`, say("phone.today.start"), due ? "btn" : "btn go"));
    actions.append(notTodayButton());
  } else if (day.kind === "wait") {
    actions.append(notTodayButton());
  } else if (day.kind === "day_off") {
    actions.append(...offActions());
  } else if (day.kind === "no_practice") {
    actions.append(...callCard(document), linkButton(document, "no-practice", say("phone.today.no_practice_more"), "btn"));
  }
}

/** On a holiday who wants to may practise; who is ill rests, and asks first when well sooner. */
function offActions() {
  if (day.next) return [linkButton(document, `skin?exercise=${day.next.exercise}`, say("phone.today.day_off_practise"), "btn quiet")];
  return plan.days_off[dayOf(nowMin)]?.may === false ? [make(document, "p", "note", say("phone.today.day_off_ill"))] : [];
}

function notTodayButton() {
  const button = make(document, "button", "btn quiet", say("phone.not_today.button"));
  button.addEventListener("click", () => openSheet(document, "not-today"));
  return button;
}

onPress(document, "[data-why-not]", async (button) => {
  await writeRecord(here.db, "not_today", { exercise: 0, why: Number(button.dataset["whyNot"]), note: "" });
  await here.go("enough");
});

onPress(document, "[data-why-not-pain]", async () => { // told as a finding: the therapist sees it on top
  await writeRecord(here.db, "finding", { exercise: 0, what: ABOUT_PAIN, place_n: NOT_ANSWERED.place, skin: NOT_ANSWERED.skin, pain_n: NOT_ANSWERED.scale, note: "" });
  await writeRecord(here.db, "not_today", { exercise: 0, why: WHY_OTHER, note: "" });
  await here.go("enough?why=pain");
});
one(document, "[data-why-not-skin]").setAttribute("href", `skin?exercise=${day.next?.exercise ?? 1}`);
onPress(document, "[data-calendar]", async (link, event) => { // a download by the browser itself asks the network
  event.preventDefault();
  const answer = await fetch(link.getAttribute("href") ?? "");
  saveFile(document, new File([await answer.blob()], link.getAttribute("download") ?? "", { type: "text/calendar" }));
  one(document, "[data-calendar-words]").textContent = say("phone.today.calendar_saved");
});

/** Says which exercises rest, where others may be done. */
function showRest() {
  if (day.resting.length === 0 || day.kind === "no_practice") return;
  const box = make(document, "div", "card next");
  const titles = day.resting.map((exercise) => exerciseOf(here, exercise).title).join(", ");
  box.append(
    make(document, "h2", "", say("phone.today.rests", { titles })), make(document, "p", "", say("phone.today.no_practice")),
    linkButton(document, "no-practice", say("phone.today.no_practice_more"), "btn"));
  notices.append(box);
}

function showLook() {
  if (!due) return;
  const box = make(document, "div", "card next");
  box.append(
    make(document, "h2", "", say("phone.today.look_due")),
    make(document, "p", "", say("phone.today.look_due_words", { title: exerciseOf(here, due.exercise).title })),
    linkButton(document, "later", say("phone.today.look_now")),
  );
  notices.append(box);
}

/** @param {import("../parts/updates.js").Offer} offer */
function showOffer(offer) {
  every(document, "[data-offer]").forEach((old) => old.remove());
  const box = make(document, "div", "card news");
  box.dataset["offer"] = "";
  const words = make(document, "ul", "plain");
  words.append(...offer.words.map((word) => make(document, "li", "", word)));
  box.append(make(document, "h2", "", say("phone.today.plan_changed")), words);
  if (offer.unit_changed) box.append(linkButton(document, "next/change", say("phone.today.change_see"), "btn"));
  else box.append(takeButton(offer));
  notices.prepend(box);
}

/** @param {import("../parts/updates.js").Offer} offer */
function takeButton(offer) {
  const button = make(document, "button", "btn", say("phone.today.change_take"));
  button.addEventListener("click", async () => {
    if ((await makeCurrent(here.db, offer)) === "current") location.assign(`${root()}today`);
    else one(document, "[data-live]").textContent = say("phone.today.change_refused");
  });
  return button;
}

/** @param {import("../parts/carry_home.js").State} state */
function showSent(state) {
  one(document, "[data-sent]").textContent = sentWords(state, say, language);
  if (state.problem === "revoked") actions.replaceChildren();
  one(document, "[data-send]").hidden = state.unsent === 0 || state.problem === "unknown";
  if (state.problem === "unknown") showUnknown();
  if (state.problem !== "unknown") showAge(state);
}

/** The clinic's store has no such phone any more: let in anew, it takes its log along. */
function showUnknown() {
  one(document, "[data-age]").hidden = true; // its codes could not be read either
  if (document.querySelector("[data-unknown]")) return;
  const box = make(document, "div", "card next");
  box.dataset["unknown"] = "";
  box.append(
    make(document, "h2", "", say("phone.today.unknown_title")), make(document, "p", "", say("phone.today.unknown")),
    linkButton(document, "/join", say("phone.today.unknown_join"), "btn"));
  notices.prepend(box);
}

/** Says how long the log has not gone home; after 3 days the code is offered. @param {import("../parts/carry_home.js").State} state */
function showAge(state) {
  const { loudness, days } = unsentAge(state, Date.now());
  const box = one(document, "[data-age]");
  if (box.dataset["age"] === `${loudness} ${days}`) return; // else it would be read out again and again
  box.dataset["age"] = `${loudness} ${days}`;
  box.hidden = loudness === "none" || loudness === "new";
  box.classList.toggle("alarm-box", loudness === "alarm");
  box.replaceChildren(...(box.hidden ? [] : ageWords(loudness, days)));
}

/** @param {import("../parts/unsent_age.js").Loudness} loudness @param {number} days */
function ageWords(loudness, days) {
  const words = [make(document, "h2", "", say("phone.age.title", { n: days })), make(document, "p", "", say(`phone.age.${loudness}`))];
  return loudness === "day" ? words : [...words, linkButton(document, "send", say("phone.age.show"), "btn")];
}

one(document, "[data-eyebrow]").textContent = dayWords(dayOf(nowMin), language, "weekday");
one(document, "[data-greeting]").textContent = greeting();
const shown = day.kind === "day_off" || day.kind === "tell" ? day.slots.filter((slot) => slot.state !== "to_go") : day.slots;
const untilNext = day.kind === "ready" && day.next ? day.slots.indexOf(day.next) + 1 : shown.length;
one(document, "[data-slots]").append(...shown.slice(0, untilNext).map(card));
one(document, "[data-after]").append(...shown.slice(untilNext).map(card));
if (telling) showTelling(here, telling, notices);
showLook();
if (!telling) showPads(here, log, notices);
showRest();
showActions();
one(document, "[data-day]").classList.add("ready");
showSent(startCarrying(here.db).state());
carryEvents.addEventListener("state", (event) => showSent(/** @type {CustomEvent} */ (event).detail));
carryEvents.addEventListener("rest_ended", () => { if (day.resting.length > 0 || telling) location.reload(); });
carryEvents.addEventListener("other_rests", () => location.reload());
eraseOld(here.db, day.resting.length > 0 || telling !== null, Date.now()).catch(() => undefined); // the store itself tells of trouble
watchUpdates(here.db, { onOffer: showOffer, onProgress: () => undefined, onTrouble: () => undefined });
