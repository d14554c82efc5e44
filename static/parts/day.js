/** What today asks for: the plan's slots looked up, the log beside them, and what stands in the way. Pure. */
import { dayOf } from "./local_time.js";
import { restingExercises, waitUntil } from "./skin_history.js";
import { toTell } from "./telling.js";

/**
 * @typedef {{seq: number, kind: string, record: any, received_ms: number}} Kept
 *
 * @typedef {object} PlanExercise
 * @property {number} exercise
 * @property {string} title
 * @property {number} session_s
 * @property {{n: number, channel: number, text: string}[]} places
 * @property {number[]} ceilings
 * @property {"ma" | "level"} shows
 * @property {number} strength_step
 * @property {string[]} channel_names
 * @property {(number | null)[]} strength_start
 * @property {string} unit  what the clinic calls the stimulator
 * @property {boolean} own_sign  the unit itself shows when it starts to rise
 * @property {number} [tap_lag_ms]  how long after the start of a rise the client notices it, by the first trial; 0 unknown
 * @property {"" | "own_pace" | "walking"} [unpaced]  why nobody leads through the phases
 * @property {string} [short_steps_from]  from this day on the set-up is the short one; "" never
 * @property {boolean} [settings_stay]  the unit keeps its settings while it is off
 * @property {boolean} [look_half_way]  feeling is less or lost: first sessions stop half-way for a look under the pads
 *
 * @typedef {object} Plan
 * @property {number} plan
 * @property {number} version
 * @property {string} language
 * @property {string} first_day
 * @property {string} last_day
 * @property {number} least_hours_between
 * @property {number} most_per_day
 * @property {number} [reaction_ms]
 * @property {number} [pads_sessions]  a set of pads is changed after so many sessions; 0 nobody said
 * @property {string[]} [said_dysreflexia]  the clips that the help page reads aloud, in order
 * @property {Record<string, {slot: string, exercise: number, session_s: number}[]>} days
 * @property {Record<string, DayOff>} days_off
 * @property {PlanExercise[]} exercises
 * @property {Record<string, string>} skin_before
 * @property {Record<string, string>} skin_after
 * @property {Record<string, string>} skin_hour_later
 * @property {Record<string, string>} skin_next_morning
 * @property {Record<string, string>} ended
 * @property {Record<string, string>} pain_after
 * @property {Record<string, string>} asks
 *
 * @typedef {object} DayOff
 * @property {string} again  the day of the next session that is expected; "" none in this plan
 * @property {boolean} may  the client may practise all the same: no day off for illness
 *
 * @typedef {object} Slot
 * @property {string} slot
 * @property {number} exercise
 * @property {number} session_s
 * @property {"to_go" | "done" | "stopped"} state
 * @property {number} at_min
 * @property {number} cued_s
 *
 * @typedef {object} Day
 * @property {"before" | "over" | "no_practice" | "tell" | "wait" | "later_today" | "enough" | "none" | "day_off" | "ready"} kind
 * @property {Slot[]} slots
 * @property {Slot | null} next  on a day off: what may be practised by choice
 * @property {number} not_before_min  local minutes, where kind is wait or later_today
 * @property {number} why  why enough: a reason as in not_today, 0 all done
 * @property {number} done_n
 * @property {number} to_go_n
 * @property {number[]} resting  exercises that rest until the therapist says otherwise
 */

const BARELY_BEGUN_S = 60;
const CUT_OFF = [7, 8];
const SKIN_FINDING = 2;

/**
 * Works out what today's page says.
 * @param {Plan} plan
 * @param {Kept[]} log
 * @param {number} nowMin
 * @param {number} [ended]  the record through which the therapist has ended rests
 * @param {{exercises: number[]}[]} [others]  what rests by findings of the client's other phones
 * @param {number} [told]  the session that the client says the therapist was told of
 * @returns {Day}
 */
export function dayState(plan, log, nowMin, ended = 0, others = [], told = 0) {
  const today = dayOf(nowMin);
  const resting = restingExercises(plan, log, ended, others);
  const slots = fillSlots(plan.days[today] ?? [], sessionsOn(log, today));
  const to_go_n = slots.filter((slot) => slot.state === "to_go").length;
  /** @type {Day} */
  const day = { kind: "ready", slots, next: null, not_before_min: 0, why: 0, done_n: slots.filter((slot) => slot.state === "done").length, to_go_n, resting };
  if (restsToday(day, plan)) return { ...day, kind: "no_practice" };
  const telling = toTell(plan, log, ended);
  if (telling && telling.seq > told) return { ...day, kind: "tell" };
  if (today < plan.first_day) return { ...day, kind: "before" };
  if (today > plan.last_day) return { ...day, kind: "over" };
  const off = plan.days_off[today];
  if (off && (!off.may || slots.length === 0)) return { ...day, kind: "day_off" };
  if (slots.length === 0) return { ...day, kind: "none" };
  if (telling && dayOf(telling.at_min) === today) return { ...day, kind: "enough" }; // told, and still no more today
  const found = firstOpen(day, plan, stillSaid(log, ended), nowMin);
  return off ? onDayOff(found) : found;
}

/**
 * On a day off that the client may use, what is open is an offer; what the skin or the end of a day says stands.
 * @param {Day} day
 * @returns {Day}
 */
function onDayOff(day) {
  if (day.kind === "later_today") return { ...day, kind: "day_off", next: null };
  return day.kind === "ready" ? { ...day, kind: "day_off" } : day;
}

/**
 * Tells whether nothing of the day is left to practise: every exercise rests, or every one that is to go today.
 * @param {Day} day
 * @param {Plan} plan
 */
function restsToday({ resting, slots }, plan) {
  if (resting.length === 0) return false;
  const to_go = slots.filter((slot) => slot.state === "to_go");
  return resting.length === plan.exercises.length || (to_go.length > 0 && to_go.every((slot) => resting.includes(slot.exercise)));
}

/**
 * What a closed day says: "all done" only where all was done; a session that was stopped early is over, not done.
 * @param {Day} day
 */
export function enoughKey({ to_go_n, done_n, slots }) {
  if (to_go_n > 0) return "phone.today.enough";
  return done_n === slots.length ? "phone.today.count.all_done" : "phone.today.count.no_more";
}

/**
 * The log without the *not today* of a skin finding whose rest the therapist has ended: with her word today is open again.
 * @param {Kept[]} log
 * @param {number} ended
 */
function stillSaid(log, ended) {
  return log.filter(({ seq, kind, record }) => !(kind === "not_today" && record.why === SKIN_FINDING && seq <= ended));
}

/**
 * Finds the next slot that nothing stands in the way of, or says what does.
 * @param {Day} day
 * @param {Plan} plan
 * @param {Kept[]} log
 * @param {number} nowMin
 * @returns {Day}
 */
function firstOpen(day, plan, log, nowMin) {
  /** @type {Day} */
  let found = { ...day, kind: "enough", why: whyEnough(log, nowMin) };
  for (const slot of day.slots) {
    if (slot.state !== "to_go" || day.resting.includes(slot.exercise) || closedToday(plan, log, slot.exercise, nowMin)) continue;
    const pinkUntil = waitUntil(plan, log, slot.exercise, nowMin);
    const restUntil = restedAt(plan, log, slot.exercise);
    if (nowMin >= pinkUntil && nowMin >= restUntil) return { ...day, kind: "ready", next: slot };
    if (found.kind === "enough") {
      found = { ...day, kind: pinkUntil >= restUntil ? "wait" : "later_today", next: slot, not_before_min: Math.max(pinkUntil, restUntil) };
    }
  }
  return found;
}

/**
 * The sessions of a day, oldest first; one that was cut off before it had begun does not count.
 * @param {Kept[]} log
 * @param {string} today
 */
function sessionsOn(log, today) {
  return sessions(log).filter((s) => dayOf(s.at_min) === today && !(s.cued_s < BARELY_BEGUN_S && CUT_OFF.includes(s.ended)));
}

/**
 * @param {Kept[]} log
 * @returns {any[]}
 */
function sessions(log) {
  return log.filter((kept) => kept.kind === "session").map((kept) => kept.record);
}

/**
 * @param {{slot: string, exercise: number, session_s: number}[]} asked
 * @param {any[]} done
 * @returns {Slot[]}
 */
function fillSlots(asked, done) {
  const left = [...done];
  return asked.map((slot) => {
    const at = left.findIndex((session) => session.exercise === slot.exercise);
    if (at < 0) return { ...slot, state: "to_go", at_min: 0, cued_s: 0 };
    const [session] = left.splice(at, 1);
    return { ...slot, state: session.ended === 1 ? "done" : "stopped", at_min: session.at_min, cued_s: session.cued_s };
  });
}

/**
 * Tells whether an exercise is closed for today: the client was told *not today*, or the plan's most a day is reached.
 * @param {Plan} plan
 * @param {Kept[]} log
 * @param {number} exercise
 * @param {number} nowMin
 */
function closedToday(plan, log, exercise, nowMin) {
  const done = sessionsOn(log, dayOf(nowMin)).filter((session) => session.exercise === exercise);
  return done.length >= plan.most_per_day || notToday(log, nowMin).some((r) => r.exercise === 0 || r.exercise === exercise);
}

/**
 * @param {Kept[]} log
 * @param {number} nowMin
 * @returns {any[]}
 */
function notToday(log, nowMin) {
  return log.filter((k) => k.kind === "not_today" && dayOf(k.record.at_min) === dayOf(nowMin)).map((k) => k.record);
}

/**
 * @param {Kept[]} log
 * @param {number} nowMin
 */
function whyEnough(log, nowMin) {
  return notToday(log, nowMin).at(-1)?.why ?? 0;
}

/**
 * When an exercise has had its least hours of rest.
 * @param {Plan} plan
 * @param {Kept[]} log
 * @param {number} exercise
 */
function restedAt(plan, log, exercise) {
  const last = sessions(log).filter((s) => s.exercise === exercise && s.cued_s >= BARELY_BEGUN_S).at(-1);
  return last ? last.at_min + Math.ceil(last.cued_s / 60) + plan.least_hours_between * 60 : 0;
}
