const ASLEEP_MS = 2000;

/**
 * Adds up the time in which a media element really played: that much was cued, whatever the page slept through.
 * @param {HTMLAudioElement} audio
 * @param {() => number} now
 */
export function createPlayedTime(audio, now) {
  let totalMs = 0;
  let lookedMs = 0;
  let placeS = 0;
  let begun = false;

  /** Takes note of the place, after a jump too: what was jumped over was not played. */
  function look() {
    placeS = audio.currentTime;
  }

  return {
    look,
    begin() {
      lookedMs = now();
      begun = false;
      look();
    },
    /** Whether it has moved since it began. */
    hasBegun: () => begun,
    /**
     * Counts what was played since the last call; returns how long nothing was looked at, where that is long.
     * @param {{counts: boolean, sound: boolean, mostMs: number}} how
     */
    pass({ counts, sound, mostMs }) {
      const gapMs = now() - lookedMs;
      const playedMs = Math.max(0, ((audio.currentTime - placeS) * 1000) / (audio.playbackRate || 1));
      begun ||= playedMs > 0;
      lookedMs = now();
      look();
      const slept = gapMs > ASLEEP_MS;
      const given = sound ? Math.min(playedMs, gapMs) : slept ? 0 : gapMs;
      if (counts) totalMs += Math.max(0, Math.min(mostMs, given));
      return slept ? gapMs : 0;
    },
    totalMs: () => totalMs,
  };
}
