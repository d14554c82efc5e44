/** Which records a client shows, and the sealed codes that hold them. */
import { codeKey, encodeFrames, ONE_SYMBOL, ReturnTable, SMALLER } from "../formats/return_code.js";
import { getMeta } from "./log_store.js";

/**
 * @typedef {"unsent" | "two_weeks" | "all"} Which
 * @typedef {import("../formats/return_code.js").Frame} Frame
 * @typedef {{seq: number, received_ms: number, record: any}} Shown
 */

export { ONE_SYMBOL, SMALLER };
const TWO_WEEKS_MIN = 14 * 1440;

/**
 * Chooses what is shown. What is not saved yet (`received_ms` 0) belongs to every choice.
 * @param {Shown[]} log
 * @param {Which} which
 * @param {number} nowMin
 */
export function chosen(log, which, nowMin) {
  if (which === "all") return log;
  if (which === "unsent") return log.filter((one) => one.received_ms === 0);
  return log.filter((one) => one.record.at_min >= nowMin - TWO_WEEKS_MIN || one.received_ms === 0);
}

/**
 * Gets ready to make codes with this phone's own key; each set of records is sealed once, so that a loop repeats itself.
 * @param {import("./log_store.js").LogStore} db
 */
export async function frameMaker(db) {
  const [device, root, answer] = await Promise.all([
    getMeta(db, "device"), getMeta(db, "root_key"), fetch(new URL("../formats/return_table.json", import.meta.url)),
  ]);
  const [table, key] = [new ReturnTable(await answer.json()), await codeKey(root)];
  /** @type {Map<string, Promise<Frame[]>>} */
  const made = new Map();
  /**
   * @param {Shown[]} shown
   * @param {number} maxVersion
   */
  return (shown, maxVersion) => {
    const records = shown.map((one) => one.record);
    const name = `${maxVersion} ${shown.map((one) => one.seq).join(" ")}`;
    const frames = made.get(name) ?? encodeFrames({ table, records, device, key, maxVersion });
    made.set(name, frames);
    return frames;
  };
}
