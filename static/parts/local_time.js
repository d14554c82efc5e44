/** Local minutes since 1970-01-01T00:00 on the phone's own wall clock, and what is said of them. Pure. */

const DAY_MIN = 1440;

/**
 * The calendar day of local minutes.
 * @param {number} atMin
 * @returns {string}  YYYY-MM-DD
 */
export function dayOf(atMin) {
  return new Date(Math.floor(atMin / DAY_MIN) * 86_400_000).toISOString().slice(0, 10);
}

/**
 * The local minutes at which a day begins.
 * @param {string} day  YYYY-MM-DD
 */
export function startOf(day) {
  return Date.parse(`${day}T00:00:00Z`) / 60_000;
}

/**
 * The time of day in words of a language, as 9:10.
 * @param {number} atMin
 * @param {string} language
 */
export function clockWords(atMin, language) {
  const form = new Intl.DateTimeFormat(localeOf(language), { hour: "numeric", minute: "2-digit", hourCycle: "h23", timeZone: "UTC" });
  return form.format(new Date(atMin * 60_000)).replace(/^0(?=\d)/, "");
}

/**
 * A day in words of a language, as Tuesday 24 November.
 * @param {string} day
 * @param {string} language
 * @param {"weekday" | "whole"} much
 */
export function dayWords(day, language, much = "whole") {
  /** @type {Intl.DateTimeFormatOptions} */
  const parts = much === "weekday" ? { weekday: "long" } : { weekday: "long", day: "numeric", month: "long" };
  return new Intl.DateTimeFormat(localeOf(language), { ...parts, timeZone: "UTC" }).format(new Date(`${day}T00:00:00Z`));
}

/** @param {string} language */
function localeOf(language) {
  return language === "en" ? "en-GB" : language; // the day before the month, and 24 hours
}

/** @param {number} atMin */
export function partOfDay(atMin) {
  const hour = Math.floor((atMin % DAY_MIN) / 60);
  if (hour < 12) return "morning";
  return hour < 18 ? "afternoon" : "evening";
}
