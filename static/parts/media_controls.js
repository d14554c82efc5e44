/** The phone's own play, pause and stop, on its lock screen or on headphones: they mean what the page's buttons mean. */

/**
 * Takes the phone's media controls in hand, where it has any.
 * @param {{title: string, onPlay: () => void, onPause: () => void, onStop: () => void}} of
 */
export function mediaControls({ title, onPlay, onPause, onStop }) {
  const session = navigator.mediaSession;
  if (!session) return { shows: () => undefined };
  session.metadata = new MediaMetadata({ title });
  const acts = /** @type {[MediaSessionAction, () => void][]} */ ([["play", onPlay], ["pause", onPause], ["stop", onStop]]);
  for (const [action, act] of acts) {
    try {
      session.setActionHandler(action, act);
    } catch {
      // this phone does not know the action: the page's own button is there
    }
  }
  return {
    /** @param {MediaSessionPlaybackState} state */
    shows: (state) => { session.playbackState = state; },
  };
}
