/**
 * How much is said: the server has compiled what sounds at each level, here it is only looked up. Pure.
 *
 * @typedef {"all" | "work" | "milestones"} HowMuch every phase · start and stop of the muscle · milestones
 * @typedef {import("./cue_sounds.js").CueSheet} CueSheet
 */

/**
 * The sheet with the rows that sound at a level; a sheet of an earlier pack knows only *every phase*.
 * @param {CueSheet} sheet
 * @param {HowMuch} [said]
 * @returns {CueSheet}
 */
export function soundSheet(sheet, said = "all") {
  const rows = said === "all" ? undefined : sheet.less_said?.[said];
  return rows ? { ...sheet, cues: rows.map(([atMs, phrase, how]) => [atMs, phrase, atMs, 0, how, 0, 0, 0, 0]) } : sheet;
}
