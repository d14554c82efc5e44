/** No practice until the therapist says so: she ends the rest by sync, or with six numbers that the client types. */
import { begin, exerciseOf } from "../parts/begin.js";
import { carryEvents, startCarrying } from "../parts/carry_home.js";
import { every, one } from "../parts/elements.js";
import { dayOf, dayWords } from "../parts/local_time.js";
import { allRecords, getMeta } from "../parts/log_store.js";
import { otherRests } from "../parts/other_rests.js";
import { enterRestDigits, restToWait } from "../parts/rest_entry.js";
import { askingForRest, restingExercises } from "../parts/skin_history.js";

const here = await begin(document);
const { say, plan, db } = here;
const ended = /** @type {number} */ ((await getMeta(db, "rest_ended")) ?? 0);
const log = await allRecords(db);
const asking = askingForRest(plan, log, ended);
const latest = asking.at(-1);
const others = await otherRests(db);
const resting = restingExercises(plan, log, ended, others);
const form = one(document, "[data-digits]");
const field = /** @type {HTMLInputElement} */ (one(document, "[data-digits-field]"));
const answer = one(document, "[data-digits-answer]");
const enterButton = /** @type {HTMLButtonElement} */ (one(document, "[data-digits-enter]"));

const named = [...asking.map(({ exercise }) => exercise), ...others.flatMap(({ exercises }) => exercises)];
for (const second of every(document, "[data-second]")) second.hidden = !named.includes(Number(second.dataset["second"]));
for (const words of every(document, "[data-noted]")) words.hidden = !latest;
form.hidden = !latest && others.length === 0;
if (new URLSearchParams(location.search).get("why") === "ask") one(document, "h1").textContent = say("phone.not_sure");
if (latest) showWhy(latest.seq);
else if (others[0]) one(document, "[data-why]").textContent = others[0].why ? whyClinic(others[0]) : why("phone.rest.why_other", others[0].at_min);
if (!latest && others.length > 0 && others.every((rest) => rest.why)) { // nothing on the skin: its words would mislead
  for (const words of every(document, "[data-skin]")) words.hidden = true;
  one(document, "[data-stopped]").hidden = false;
}

/** Says why, since when, and what rests. @param {number} seq */
function showWhy(seq) {
  const found = log.find((kept) => kept.seq === seq);
  one(document, "[data-why]").textContent = why("phone.rest.why", found?.record["at_min"] ?? here.nowMin());
  if (found && found.received_ms > 0) one(document, "[data-noted]").textContent = say("phone.rest.received");
  one(document, "[data-number]").textContent = say("phone.rest.number", { n: seq });
}

/** The clinic's own word, and from when on practice goes on by itself. @param {import("../parts/other_rests.js").OtherRest} rest */
function whyClinic({ why: kind, until, at_min }) {
  if (until) return say("phone.rest.until", { day: dayWords(until, plan.language) });
  return why(kind === "not_at_home" ? "phone.rest.why_clinic" : "phone.rest.why_word", at_min);
}

/** @param {string} key @param {number} atMin */
function why(key, atMin) {
  const titles = resting.map((exercise) => exerciseOf(here, exercise).title).join(", ");
  return say(key, { day: dayWords(dayOf(atMin), plan.language), titles });
}

/** Opens the field again when the minute is over. @param {number} ms */
function pause(ms) {
  enterButton.disabled = ms > 0;
  if (ms > 0) setTimeout(() => { enterButton.disabled = false; answer.textContent = say("phone.send.digits.again"); }, ms);
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { outcome, wait_ms } = await enterRestDigits(db, asking.map(({ seq }) => seq), field.value, Date.now(), others);
  if (outcome === "ended") return here.go("today");
  answer.textContent = outcome === "earlier" ? say("phone.rest.earlier", { n: latest?.seq ?? 0 }) : say(`phone.send.digits.${outcome}`);
  pause(wait_ms);
});

startCarrying(db);
for (const news of ["rest_ended", "other_rests"]) carryEvents.addEventListener(news, () => here.go("today"));
const waiting = await restToWait(db, Date.now());
if (waiting > 0) answer.textContent = say("phone.send.digits.wait");
pause(waiting);
