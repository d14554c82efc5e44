/** What is said about the way of the log to the therapist: saved, received, how long not. Pure. */
import { dayWords } from "./local_time.js";

const CLOCK_OFF_MS = 300_000;

/**
 * @param {{unsent: number, total: number, oldest_unsent_ms: number, problem: string, clock_offset_ms: number}} state
 * @param {import("./strings.js").T} say
 * @param {string} language
 */
export function sentWords(state, say, language) {
  if (state.problem === "revoked") return say("phone.today.revoked");
  if (state.problem === "unknown") return say("phone.today.saved");
  const words = state.total > 0 ? [say("phone.today.saved"), wayWords(state, say, language)] : [];
  if (Math.abs(state.clock_offset_ms) > CLOCK_OFF_MS) words.push(say("phone.today.clock_off"));
  return words.join(" ");
}

/**
 * @param {{unsent: number, total: number, oldest_unsent_ms: number}} state
 * @param {import("./strings.js").T} say
 * @param {string} language
 */
function wayWords(state, say, language) {
  if (state.unsent === 0) return say("phone.today.sent_all");
  if (state.unsent === state.total || state.oldest_unsent_ms === 0) return say("phone.today.sent_none");
  const day = new Date(state.oldest_unsent_ms).toISOString().slice(0, 10);
  return say("phone.today.sent_part", { day: dayWords(day, language) });
}
