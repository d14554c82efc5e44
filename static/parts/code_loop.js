/** Shows the codes of a log one after the other, over and over; it can be held, and moved on by hand. */

/** How long each code stays: what a camera needs, and slow enough to see that it changes. */
export const FRAME_MS = 450;

export class CodeLoop {
  /**
   * @param {number} count
   * @param {(at: number) => void} show  draws one, counted from 0
   */
  constructor(count, show) {
    this.count = count;
    this.show = show;
    this.at = 0;
    /** @type {ReturnType<typeof setInterval> | undefined} */
    this.timer = undefined;
    show(0);
    this.goOn();
  }

  get held() {
    return this.timer === undefined;
  }

  hold() {
    clearInterval(this.timer);
    this.timer = undefined;
  }

  goOn() {
    if (this.held && this.count > 1) this.timer = setInterval(() => this.move(), FRAME_MS);
  }

  /** Shows the next one, and stays there. */
  next() {
    this.hold();
    this.move();
  }

  move() {
    this.at = (this.at + 1) % this.count;
    this.show(this.at);
  }
}
