/** Hands payloads to the clinic's server, and says in one word why it could not. */

const WAIT_MS = 20_000;

/** @typedef {"offline" | "signed_out" | "refused" | "too_large"} Trouble */
/** @typedef {{html: string, trouble: ""} | {html: "", trouble: Trouble}} Answer */

/** @param {Trouble} trouble @returns {Answer} */
const failed = (trouble) => ({ html: "", trouble });

/** Gives the form token of whoever is signed in now. @returns {Promise<{token: string} | Trouble>} */
async function token() {
  try {
    const answer = await fetch("/clinic/sign-in/state", { cache: "no-store", signal: AbortSignal.timeout(WAIT_MS) });
    const state = answer.ok ? await answer.json() : null;
    if (!state) return "offline";
    return state.signed_in ? { token: state.token } : "signed_out";
  } catch {
    return "offline"; // no network, a proxy's page, too slow
  }
}

/**
 * Asks the server what is in the payloads (`preview`), or to take them in (`take-in`).
 * @param {"preview" | "take-in"} what @param {string[]} payloads @param {"code" | "file"} road
 * @returns {Promise<Answer>}
 */
export async function handIn(what, payloads, road) {
  const may = await token();
  if (typeof may === "string") return failed(may);
  try {
    const answer = await fetch(`/clinic/returns/${what}`, {
      method: "POST", cache: "no-store", redirect: "error", signal: AbortSignal.timeout(WAIT_MS),
      headers: { "Content-Type": "application/json", "X-CSRFToken": may.token }, body: JSON.stringify({ payloads, road }),
    });
    if (answer.ok) return { html: await answer.text(), trouble: "" };
    if (answer.status === 401) return failed("signed_out");
    if (answer.status === 413) return failed("too_large");
    return failed([502, 503, 504].includes(answer.status) ? "offline" : "refused");
  } catch {
    return failed("offline");
  }
}
