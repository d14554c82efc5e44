/**
 * Ends a cue sheet earlier: on a day of the build-up the session is shorter than the sheet. Pure.
 *
 * @typedef {import("./cue_sounds.js").CueSheet} CueSheet
 */

const TONE_ONLY_MS = 4000; // words begun so shortly before the end would run into those of the end
const SILENT_MS = 1000;
const MINUTE_MS = 60_000;

/**
 * Cuts a sheet at a session time; the last cue stays *finished*, half of the time and the last minute are those of the shorter session.
 * @param {CueSheet} sheet
 * @param {number} sessionMs
 * @returns {CueSheet}
 */
export function cutSheet(sheet, sessionMs) {
  const last = sheet.cues[sheet.cues.length - 1];
  if (!last || sessionMs >= sheet.session_ms) return sheet;
  const kept = moved(sheet, sheet.cues.slice(0, -1), sessionMs).filter((cue) => cue[0] < sessionMs);
  const [, , , cycle = 1, , done1 = 0, done2 = 0, on1 = 0, on2 = 0] = kept[kept.length - 1] ?? [];
  const whole = kept.map(([atMs, phrase, untilMs, n, said, ...counts]) =>
    [atMs, phrase, Math.min(untilMs, sessionMs), n, Math.min(said, loudest(atMs, sessionMs)), ...counts]);
  const channels = sheet.channels.map((each, n) => ({ ...each, contractions: n === 0 ? done1 : done2, on_ms: n === 0 ? on1 : on2 }));
  const less = sheet.less_said;
  return {
    ...sheet, session_ms: sessionMs, channels,
    cues: [...whole, [sessionMs, last[1], sessionMs, cycle, last[4], done1, done2, on1, on2]],
    ...(less && { less_said: { work: cutSounds(sheet, less.work, sessionMs), milestones: cutSounds(sheet, less.milestones, sessionMs) } }),
  };
}

/**
 * @param {CueSheet} sheet
 * @param {number[][]} rows
 * @param {number} sessionMs
 */
function cutSounds(sheet, rows, sessionMs) {
  const last = rows[rows.length - 1];
  const kept = moved(sheet, rows.slice(0, -1), sessionMs).filter((row) => row[0] < sessionMs);
  const quieter = kept.map(([atMs, phrase, said]) => [atMs, phrase, Math.min(said, loudest(atMs, sessionMs))]).filter((row) => row[2] > 0);
  return last ? [...quieter, [sessionMs, last[1], last[2]]] : [];
}

/**
 * Puts half of the time and the last minute where they belong; without room for both, half stays.
 * @param {CueSheet} sheet
 * @param {number[][]} rows
 * @param {number} sessionMs
 */
function moved(sheet, rows, sessionMs) {
  const half = Math.floor(sessionMs / 2);
  const places = /** @type {Record<string, number>} */ ({ halfway: half, one_minute: sessionMs - MINUTE_MS });
  const phaseOf = (/** @type {number[]} */ row) => sheet.phrases[row[1]]?.phase ?? "";
  const fits = rows.filter((row) => phaseOf(row) !== "one_minute" || sessionMs - MINUTE_MS > half);
  return fits.map((row) => [places[phaseOf(row)] ?? row[0], ...row.slice(1)]).sort((one, other) => one[0] - other[0]);
}

/**
 * @param {number} atMs
 * @param {number} sessionMs
 */
function loudest(atMs, sessionMs) {
  if (atMs > sessionMs - SILENT_MS) return 0;
  return atMs > sessionMs - TONE_ONLY_MS ? 1 : 2;
}
