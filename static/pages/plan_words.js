/** The words of a plan in the builder: heard as the client will hear them, recorded in the therapist's own voice. */
import { decode, playOnce } from "../parts/audio.js";
import { MicrophoneError, startRecording } from "../parts/voice_recorder.js";

/** @typedef {{refresh: (panel: Element) => Promise<void>}} Words */

/**
 * @param {HTMLFormElement} form
 * @param {(path: string) => Promise<HTMLElement>} ask  sends the form to a part of its address
 * @param {() => void} changed  called when what the form holds is another
 * @returns {Words}
 */
export function makeWords(form, ask, changed) {
  /** @type {AudioContext | null} */
  let context = null;
  /** @type {{cue: HTMLElement, recorder: import("../parts/voice_recorder.js").Recorder} | null} */
  let live = null;
  let asked = 0;

  /** @param {string} key */
  const text = (key) => form.querySelector("[data-cue-texts]")?.getAttribute(`data-${key}`) ?? "";
  /** @param {Element} cue */
  const nameOf = (cue) => cue.getAttribute("data-cue") ?? "";
  /** @param {Element} cue */
  const exerciseOf = (cue) => nameOf(cue).match(/\d+/)?.[0] ?? "1";
  /** @param {Element} cue @param {string} part */
  const within = (cue, part) => /** @type {HTMLElement} */ (cue.querySelector(`[data-${part}]`));
  /** @param {Element} cue @param {string} words @param {boolean} [isTrouble] */
  function say(cue, words, isTrouble = false) {
    const place = within(cue, "note-place");
    place.textContent = words;
    place.classList.toggle("trouble", isTrouble);
  }

  /** Asks how each cue of an exercise will be heard, and says so beside it. @param {Element} panel */
  async function refresh(panel) {
    for (const acts of panel.querySelectorAll("[data-acts]")) /** @type {HTMLElement} */ (acts).hidden = false;
    const first = panel.querySelector("[data-cue]");
    if (!first) return;
    const mine = ++asked;
    try {
      const told = await ask(`words?exercise=${exerciseOf(first)}`);
      if (mine !== asked) return; // what is typed has changed since
      for (const cue of panel.querySelectorAll("[data-cue]")) {
        const note = told.querySelector(`[data-note="${CSS.escape(nameOf(cue))}"]`);
        if (cue !== live?.cue) show(/** @type {HTMLElement} */ (cue), note);
      }
    } catch { /* away: the notes stay as they are, and saving says what is the matter */ }
  }

  /** @param {HTMLElement} cue @param {Element | null} note */
  function show(cue, note) {
    const own = note?.getAttribute("data-own") ?? "";
    cue.dataset["sentence"] = note?.getAttribute("data-sentence") ?? "";
    within(cue, "forget").hidden = !own;
    say(cue, [own ? text("own") : "", note?.textContent?.trim().replace(/\s+/g, " ") ?? ""].filter(Boolean).join(" "), note?.classList.contains("trouble"));
  }

  /** @param {string} path @param {BodyInit} body @param {HTMLElement} cue @returns {Promise<Response | null>} */
  async function post(path, body, cue) {
    const token = /** @type {HTMLInputElement} */ (form.elements.namedItem("csrf_token")).value;
    try {
      const answer = await fetch(`${form.action}/${path}`, { method: "POST", body, headers: { "X-CSRFToken": token, Accept: "application/json" } });
      if (answer.ok) return answer;
      say(cue, answer.status === 422 ? (await answer.json()).problem : text("not_sent"), true);
    } catch {
      say(cue, text("not_sent"), true);
    }
    return null;
  }

  /** Plays the very clip that the pack will hold. @param {HTMLElement} cue */
  async function hear(cue) {
    context ??= new AudioContext();
    await context.resume();
    const answer = await post(`hear?exercise=${exerciseOf(cue)}&cue=${nameOf(cue)}`, new FormData(form), cue);
    if (!answer) return;
    const clip = await decode(context, await answer.arrayBuffer());
    cue.dataset["heardMs"] = String(Math.round(clip.duration * 1000));
    await playOnce(context, clip);
  }

  /** @param {HTMLElement} cue @param {boolean} on */
  function look(cue, on) {
    cue.toggleAttribute("data-live", on);
    within(cue, "record-idle").hidden = on;
    within(cue, "record-live").hidden = !on;
    within(cue, "level").hidden = !on;
  }

  /** @param {HTMLElement} cue */
  async function record(cue) {
    say(cue, text("asking"));
    const sentence = cue.dataset["sentence"] ?? "";
    try {
      const meter = /** @type {HTMLMeterElement} */ (within(cue, "level"));
      const recorder = await startRecording((level) => { meter.value = level; });
      live = { cue, recorder };
      look(cue, true);
      say(cue, text("recording").replace("{said}", sentence));
      void recorder.full.then(() => { if (live?.recorder === recorder) void finish(); });
    } catch (error) {
      say(cue, text(`mic_${error instanceof MicrophoneError ? error.trouble : "none"}`), true);
    }
  }

  async function finish() {
    if (!live) return;
    const { cue, recorder } = live;
    live = null;
    look(cue, false);
    say(cue, text("working"));
    const wav = new Blob([await recorder.stop()], { type: "audio/wav" });
    const answer = await post(`recordings?said=${encodeURIComponent(cue.dataset["sentence"] ?? "")}`, wav, cue);
    if (!answer) return;
    await keep(cue, (await answer.json()).sha256);
  }

  /** @param {HTMLElement} cue @param {string} sha256 */
  async function keep(cue, sha256) {
    /** @type {HTMLInputElement} */ (within(cue, "own-field")).value = sha256;
    changed();
    await refresh(/** @type {Element} */ (cue.closest("[data-panel]")));
  }

  /** @param {HTMLElement} cue */
  async function forget(cue) {
    const sha256 = /** @type {HTMLInputElement} */ (within(cue, "own-field")).value;
    if (await post(`recordings/${sha256}/forget`, "", cue)) await keep(cue, "");
  }

  form.addEventListener("click", (event) => {
    const button = /** @type {HTMLElement} */ (event.target).closest("[data-acts] button");
    const cue = /** @type {HTMLElement | null} */ (button?.closest("[data-cue]"));
    if (!button || !cue) return;
    if (button.matches("[data-hear]")) void hear(cue);
    else if (button.matches("[data-forget]")) void forget(cue);
    else if (live) void finish();
    else void record(cue);
  });
  form.addEventListener("change", (event) => {
    const panel = /** @type {HTMLElement} */ (event.target).closest("[data-cue]")?.closest("[data-panel]");
    if (panel) void refresh(panel);
  });
  return { refresh };
}
