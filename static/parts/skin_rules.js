/** What a finding on the skin leads to: looked up in the tables that the plan brings. Pure. */

const GRAVITY = ["fine", "go", "unknown", "look_later", "ask", "wait", "call", "no_practice"];

/**
 * The gravest outcome of several places.
 * @param {Record<string, string>} table  answer to outcome
 * @param {number[]} answers
 * @returns {string}
 */
export function outcome(table, answers) {
  const found = answers.map((answer) => table[String(answer)] ?? "ask");
  return found.reduce((worst, each) => (GRAVITY.indexOf(each) > GRAVITY.indexOf(worst) ? each : worst), found[0] ?? "ask");
}

/** @param {string} found */
export function meansNoPractice(found) {
  return found === "no_practice" || found === "call";
}
