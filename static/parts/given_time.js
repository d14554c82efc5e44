const ASLEEP_MS = 2000;
const WAKING_MS = 500; // sound comes up a moment after the tap that starts it

/**
 * Adds up the time in which cues were really given, and notices that the page slept: then the audio clock stood still too. A page whose
 * timers alone were held up did not sleep, the sounds placed ahead went on. Where there is sound, no more counts than the audio clock went.
 * @param {AudioContext} context
 * @param {() => number} now
 */
export function createGivenTime(context, now) {
  let keptMs = 0;
  let passedMs = 0;
  let soundedMs = 0;
  let lookedMs = 0;
  let heardS = 0;
  const totalMs = () => keptMs + Math.min(passedMs, soundedMs + WAKING_MS);

  function look() {
    lookedMs = now();
    heardS = context.currentTime;
  }

  return {
    /** Begins to count from now. */
    begin() {
      keptMs = totalMs();
      passedMs = soundedMs = 0;
      look();
    },

    /**
     * Counts the time since the last call; returns how long the page slept, 0 if it did not.
     * @param {{counts: boolean, sound: boolean, mostMs: number}} how whether cues came, whether with sound, and how much at most
     */
    pass({ counts, sound, mostMs }) {
      const gapMs = now() - lookedMs;
      const heardMs = Math.max(0, (context.currentTime - heardS) * 1000);
      look();
      const slept = gapMs > ASLEEP_MS && !(sound && gapMs - heardMs <= ASLEEP_MS);
      if (counts) {
        const most = Math.max(0, mostMs);
        const awakeMs = slept ? 0 : gapMs;
        passedMs += Math.min(most, sound ? gapMs : awakeMs);
        soundedMs += Math.min(most, sound ? heardMs : awakeMs);
      }
      return slept ? gapMs : 0;
    },

    totalMs,
  };
}
