/** How long the set-up is today: all of it in the first weeks and after a change, the short one on other days. Pure. */
import { dayOf } from "./local_time.js";

const BATTERY = 2;
const SETTINGS = 3;

/**
 * The short set-up holds from the plan's day on, once this version was practised, and until the battery or the settings are
 * changed: then all steps, and the look at the unit's settings, come once more.
 * @param {{exercise: number, short_steps_from?: string, settings_stay?: boolean}} exercise
 * @param {{version: number}} plan
 * @param {{kind: string, record: any}[]} log  in the order in which it was written
 * @param {number} nowMin
 * @returns {{short: boolean, check: boolean}}  check: the settings are compared with the plan
 */
export function setUpLength(exercise, plan, log, nowMin) {
  const from = exercise.short_steps_from ?? "";
  const since = log.filter(({ kind, record }) => (kind === "session" && record.exercise === exercise.exercise && record.cued_s > 0)
    || (kind === "changed" && [BATTERY, SETTINGS].includes(record.what)));
  const last = since.at(-1);
  const settled = last?.kind === "session" && last.record.version === plan.version;
  const short = from !== "" && dayOf(nowMin) >= from && settled;
  return { short, check: !(short && exercise.settings_stay) };
}

/**
 * Takes away the steps that the short set-up leaves out, and counts the others anew.
 * @param {HTMLElement} group
 * @param {(n: number, all: number) => string} say
 * @param {boolean} [check]  whether the look at the settings stays
 */
export function shorten(group, say, check = true) {
  for (const step of group.querySelectorAll("[data-long]")) step.remove();
  if (!check && group.querySelector("[data-step=unit]")) for (const look of group.querySelectorAll("[data-step=same]")) look.remove();
  const marks = [...group.querySelectorAll("[data-of]")];
  marks.forEach((mark, n) => { mark.textContent = say(n + 1, marks.length); });
  if (!group.querySelector("[data-step][data-now]")) group.querySelector("[data-step]")?.setAttribute("data-now", "");
}
