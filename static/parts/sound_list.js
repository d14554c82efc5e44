/** The sounds of a pack as a list that can be loaded. Pure. */

/**
 * @param {Record<string, {file: string, onset_ms: number}>} listed  data/sounds.json
 * @param {Set<string>} [only]  the ids that are wanted; all without
 * @returns {{id: string, url: string, onset_ms: number}[]}
 */
export function pickSounds(listed, only) {
  return Object.entries(listed).filter(([id]) => !only || only.has(id)).map(([id, { file, onset_ms }]) => ({ id, url: file, onset_ms }));
}
