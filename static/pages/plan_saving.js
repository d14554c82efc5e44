/** Saves the draft by itself, as typed; while the server is away or the sign-in has ended, it says so, keeps all and tries again. */

const QUIET_MS = 700; // typing rests this long before a save
const RETRY_MS = [2_000, 5_000, 15_000];

/** @typedef {"saved" | "saving" | "unsaved" | "offline" | "signed-out" | "conflict"} SaveState */
/** @typedef {(answer: Response, sent: FormData) => Promise<void> | void} Then what follows an answer; `sent` is the form as it was sent */
/** @typedef {{changed: () => void, flush: () => Promise<void>, send: (action: string, then: Then) => Promise<void>}} Saving */

/**
 * @param {HTMLFormElement} form
 * @returns {Saving}
 */
export function makeSaving(form) {
  let dirty = false;
  let version = 0;
  let tries = 0;
  let timer = 0;
  let waiting = 0;
  /** One request after the other: each needs the time of the save before it. @type {Promise<void>} */
  let queue = Promise.resolve();

  /** @param {SaveState} state */
  function say(state) {
    const place = /** @type {HTMLElement} */ (form.querySelector("[data-save-state]"));
    const text = place.getAttribute(`data-${state}`) ?? "";
    if (place.dataset.state === state && place.textContent?.startsWith(text)) return;
    place.dataset.state = state;
    place.textContent = text;
    if (state === "signed-out") {
      const link = Object.assign(document.createElement("a"), { href: "/clinic/sign-in", target: "_blank", rel: "noopener", textContent: place.dataset.signIn ?? "" });
      place.append(" ", link);
    }
    const conflict = /** @type {HTMLElement | null} */ (form.querySelector("[data-conflict]:not([data-save-state])"));
    if (conflict && state === "conflict") conflict.hidden = false;
  }

  /** @param {string} name @param {string} value */
  function setHidden(name, value) {
    for (const input of document.querySelectorAll(`input[name="${name}"]`)) /** @type {HTMLInputElement} */ (input).value = value;
  }

  /** Takes the form token of a new sign-in; false while nobody is signed in. */
  async function renewToken() {
    const answer = await fetch("/clinic/sign-in/state", { headers: { Accept: "application/json" } });
    const told = await answer.json();
    if (told.signed_in) setHidden("csrf_token", told.token);
    return Boolean(told.signed_in);
  }

  let sent = new FormData(form);

  /** @param {string} action @param {boolean} json @returns {Promise<Response>} */
  function post(action, json) {
    const body = sent = new FormData(form);
    body.set("do", action);
    return fetch(form.action, { method: "POST", body, headers: json ? { Accept: "application/json" } : {} });
  }

  /**
   * Sends the form; renews the form token once where the sign-in is another one. Null: it did not arrive, and the page says why.
   * @param {string} action @param {boolean} [json]
   */
  async function send(action, json = false) {
    try {
      let answer = await post(action, json);
      if ([400, 401, 403].includes(answer.status)) {
        if (!(await renewToken())) { say("signed-out"); return null; }
        answer = await post(action, json);
      }
      if (answer.status === 409) { say("conflict"); return null; }
      if (!answer.ok) { say("offline"); return null; }
      tries = 0;
      return answer;
    } catch {
      say("offline");
      return null;
    }
  }

  async function save() {
    if (!dirty) return;
    const saved = version;
    say("saving");
    const answer = await send("save", true);
    if (!answer) { again(); return; }
    setHidden("seen_ms", String((await answer.json()).saved_ms));
    dirty = version !== saved;
    say(dirty ? "unsaved" : "saved");
    if (dirty) wait(QUIET_MS);
  }

  /** @param {() => Promise<void>} work */
  function inTurn(work) {
    waiting += 1;
    queue = queue.catch(() => {}).then(work).finally(() => { waiting -= 1; });
    return queue;
  }

  /** @param {number} ms */
  function wait(ms) {
    clearTimeout(timer);
    timer = window.setTimeout(() => void flush(), ms);
  }

  function again() {
    if (form.querySelector("[data-save-state][data-state='conflict']")) return;
    wait(RETRY_MS[Math.min(tries, RETRY_MS.length - 1)] ?? 15_000);
    tries += 1;
  }

  async function flush() {
    clearTimeout(timer);
    if (dirty && waiting === 0) await inTurn(save);
  }

  for (const name of ["online", "focus"]) window.addEventListener(name, () => void flush());
  document.addEventListener("visibilitychange", () => { if (!document.hidden) void flush(); });
  window.addEventListener("beforeunload", (event) => { if (dirty) event.preventDefault(); });

  return {
    changed() {
      dirty = true;
      version += 1;
      if (waiting) return;
      if (tries === 0) say("unsaved");
      wait(tries ? RETRY_MS[0] ?? 2_000 : QUIET_MS);
    },
    flush,
    send: (action, then) => inTurn(async () => {
      clearTimeout(timer);
      const begun = version;
      const answer = await send(action);
      if (!answer) { again(); return; }
      dirty = version !== begun;
      await then(answer, sent);
      if (dirty) wait(QUIET_MS);
    }),
  };
}
