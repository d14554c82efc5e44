/** What the log says about the skin: what rests, since when, and until when an even pink waits. Pure. */
import { dayOf } from "./local_time.js";
import { meansNoPractice, outcome } from "./skin_rules.js";

const WAIT_MIN = 60;
const SKIN = 1;

/**
 * The records that ask for rest, oldest first, each with its exercise (0: all). A rest lasts until the therapist ends it through
 * a record of this log; in an older release the client noted her word instead.
 * @param {import("./day.js").Plan} plan
 * @param {import("./day.js").Kept[]} log
 * @param {number} ended  the record through which the therapist has ended rests
 */
export function askingForRest(plan, log, ended) {
  /** @type {{seq: number, exercise: number}[]} */
  let asking = [];
  for (const { seq, kind, record } of log.filter((kept) => kept.seq > ended)) {
    if (kind === "finding" && record.what === SKIN && record.skin === 0) asking = [];
    else if (findingIn(plan, kind, record)) asking.push({ seq, exercise: exerciseOf(log, kind, record) });
  }
  return asking;
}

/**
 * The exercises of the plan that rest: those that a finding is about, and those with a pad on the same place.
 * @param {import("./day.js").Plan} plan
 * @param {import("./day.js").Kept[]} log
 * @param {number} ended
 * @param {{exercises: number[]}[]} [others]  what rests by findings of the client's other phones
 */
export function restingExercises(plan, log, ended, others = []) {
  const named = new Set([...askingForRest(plan, log, ended).map(({ exercise }) => exercise), ...others.flatMap((rest) => rest.exercises)]);
  const found = plan.exercises.filter((each) => named.has(0) || named.has(each.exercise));
  const places = new Set(found.flatMap((each) => each.places.map((place) => place.text)));
  return plan.exercises.filter((each) => found.includes(each) || each.places.some((place) => places.has(place.text))).map((each) => each.exercise);
}

/**
 * The exercise that a finding is about; a later look is about that of its session.
 * @param {import("./day.js").Kept[]} log
 * @param {string} kind
 * @param {any} record
 * @returns {number}
 */
function exerciseOf(log, kind, record) {
  if (kind !== "skin_later") return record.exercise ?? 0;
  const session = log.find((kept) => kept.seq === record.session_seq && kept.kind === "session");
  return session?.record.exercise ?? 0;
}

/**
 * @param {import("./day.js").Plan} plan
 * @param {string} kind
 * @param {any} record
 */
function findingIn(plan, kind, record) {
  if (kind === "session") return meansNoPractice(outcome(plan.skin_after, record.skin_after));
  if (kind === "skin_later") return meansNoPractice(outcome(record.when === 2 ? plan.skin_next_morning : plan.skin_hour_later, record.skin));
  if (kind === "finding") return record.what === SKIN && meansNoPractice(outcome(plan.skin_before, [record.skin]));
  return kind === "not_today" && record.why === 2;
}

/**
 * When an even pink may be looked at again.
 * @param {import("./day.js").Plan} plan
 * @param {import("./day.js").Kept[]} log
 * @param {number} exercise
 * @param {number} nowMin
 */
export function waitUntil(plan, log, exercise, nowMin) {
  const pink = pinkToday(plan, log, exercise, nowMin);
  return pink ? pink.at_min + WAIT_MIN : 0;
}

/**
 * The first time today that an even pink was seen before an exercise.
 * @param {import("./day.js").Plan} plan
 * @param {import("./day.js").Kept[]} log
 * @param {number} exercise
 * @param {number} nowMin
 * @returns {any}
 */
export function pinkToday(plan, log, exercise, nowMin) {
  return log.map((kept) => ({ ...kept.record, kind: kept.kind })).find((r) => r.kind === "finding" && r.what === SKIN
    && r.exercise === exercise && plan.skin_before[String(r.skin)] === "wait" && dayOf(r.at_min) === dayOf(nowMin));
}
