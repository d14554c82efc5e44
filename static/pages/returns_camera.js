/** The live view of Read a log: what the camera sees, where a code is, and what to do with the phone. */

import { aimOf, brightestOf, SteadyAim } from "../parts/aiming.js";
import { CameraError, closeCamera, looksAtPerson, nextCamera, openCamera } from "../parts/camera.js";
import { lookAt, Pixels } from "../parts/code_reader.js";
import { one, onPress } from "../parts/elements.js";
import { isPayload, Showing } from "../parts/read_payloads.js";

/** @typedef {import("../parts/code_reader.js").Look} Look */

export class LiveView {
  /** @type {MediaStream | null} */
  #stream = null;
  #turn = 0; // of starting and stopping: what an earlier turn still waits for has no say any more

  /**
   * @param {HTMLElement} place @param {Promise<boolean>} reader  whether it could be loaded
   * @param {(name: string) => string} text @param {(payloads: string[]) => void} keep  takes what one look gave
   */
  constructor(place, reader, text, keep) {
    this.place = place;
    this.reader = reader;
    this.text = text;
    this.keep = keep;
    this.video = /** @type {HTMLVideoElement} */ (one(place, "video"));
    onPress(place, "[data-start]", () => void this.start());
    onPress(place, "[data-stop]", () => this.stop());
    onPress(place, "[data-other]", () => void this.#change());
    one(place, "[data-start]").removeAttribute("disabled"); // a press before now would have been lost
  }

  /** @param {string} selector @param {string} words  "" hides it */
  #say(selector, words) {
    const part = one(this.place, selector);
    if (part.textContent !== words) part.textContent = words;
    part.hidden = !words;
  }

  /** Opens the camera and reads until it is stopped or has seen every code of a phone. @param {string} [id] */
  async start(id = "") {
    this.stop();
    const turn = this.#turn;
    this.#say("[data-camera-problem]", "");
    try {
      const isReady = await this.reader;
      if (turn !== this.#turn) return;
      if (!isReady) return this.#say("[data-camera-problem]", this.text("trouble.reader"));
      const stream = await openCamera(id);
      if (turn !== this.#turn) return closeCamera(stream);
      await this.#open(stream);
      await this.#watch(stream);
    } catch (error) {
      if (turn !== this.#turn) return;
      this.stop();
      if (!(error instanceof CameraError)) throw error;
      this.#say("[data-camera-problem]", this.text(`trouble.${error.trouble}`));
    }
  }

  /** @param {MediaStream} stream */
  async #open(stream) {
    this.#stream = stream;
    stream.getVideoTracks()[0]?.addEventListener("ended", () => {
      if (this.#stream === stream) this.#say("[data-camera-problem]", this.text("trouble.ended"));
      if (this.#stream === stream) this.stop();
    });
    this.#show();
    this.video.srcObject = stream;
    this.place.classList.toggle("mirrored", looksAtPerson(stream));
    await this.video.play();
    one(this.place, "[data-other]").hidden = !(await nextCamera(stream));
  }

  stop() {
    this.#turn += 1;
    if (this.#stream) closeCamera(this.#stream);
    this.#stream = null;
    this.#show();
  }

  async #change() {
    if (this.#stream) await this.start(await nextCamera(this.#stream));
  }

  #show() {
    const isOn = this.#stream !== null;
    this.place.dataset["camera"] = isOn ? "on" : "off";
    for (const [selector, isShown] of /** @type {const} */ ([[".view", isOn], ["[data-stop]", isOn],
      ["[data-start]", !isOn], ["[data-instead]", !isOn], ["[data-other]", false]])) {
      one(this.place, selector).hidden = !isShown;
    }
  }

  #nextFrame() {
    return new Promise((done) => {
      if ("requestVideoFrameCallback" in this.video) this.video.requestVideoFrameCallback(done);
      else requestAnimationFrame(done);
    });
  }

  /** @param {MediaStream} stream */
  async #watch(stream) {
    const [pixels, small, showing, steady] = [new Pixels(), new Pixels(), new Showing(), new SteadyAim()];
    for (let way = 0; this.#stream === stream;) {
      await this.#nextFrame();
      const { videoWidth: width, videoHeight: height } = this.video;
      if (this.#stream !== stream || !width) continue;
      const look = await lookAt(pixels, this.video, width, height, way);
      if (this.#stream !== stream) return;
      const nowMs = performance.now();
      const payloads = look.texts.filter(isPayload);
      if (!payloads.length) way += 1; // the way that read the last code is likely to read the next
      for (const payload of payloads) showing.see(payload);
      this.keep(payloads);
      this.#outline(look);
      const brightest = look.found ? 255 : brightestOf(small.of(this.video, width / 8, height / 8));
      const aim = steady.hear(aimOf(look.found, payloads.length > 0, width, height, brightest), nowMs);
      this.#say(".aim", this.text(look.texts.length > payloads.length ? "not_ours" : `aim.${aim}`));
      if (showing.isWhole) this.#finish();
    }
  }

  #finish() {
    this.stop();
    this.#say("[data-instead]", this.text("aim.whole"));
  }

  /** @param {Look} look */
  #outline({ found }) {
    one(this.place, ".outline").setAttribute("viewBox", `0 0 ${this.video.videoWidth} ${this.video.videoHeight}`);
    const points = found ? found.corners.map(({ x, y }) => `${Math.round(x)},${Math.round(y)}`).join(" ") : "";
    one(this.place, ".outline polygon").setAttribute("points", points);
  }
}
