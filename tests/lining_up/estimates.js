/** What the estimator makes of given taps, for comparison with the oracle, and of the asking in a session. */
import { createLiningUp } from "../../static/parts/lining_up.js";

/**
 * The posterior at the last tap, in the oracle's terms.
 * @param {{tapsS: number[], cycleS: number, holdEndS: number}} of  taps without a lag
 */
export function atLastTap({ tapsS, cycleS, holdEndS }) {
  const [cycleMs, holdEndMs] = [cycleS * 1000, holdEndS * 1000];
  const liningUp = createLiningUp({
    cycleMs, firstRiseMs: 0, sessionMs: 1_800_000, edges: { holdMs: 500, holdEndMs, restMs: holdEndMs + 500 }, lagMs: 300,
  });
  const found = tapsS.map((tapS) => liningUp.tap(tapS * 1000 + 300)).at(-1);
  if (!found) throw new Error("no taps");
  const lastMs = (tapsS.at(-1) ?? 0) * 1000;
  const cycle = cycleMs * found.ratio;
  const phaseMs = found.zeroMs + cycle * Math.round((lastMs - found.zeroMs) / cycle);
  const at = liningUp.estimate(lastMs);
  return { phaseS: phaseMs / 1000, sdPhaseS: at.sdPhaseMs / 1000, clock: at.ppm / 1e6, sdClock: at.sdPpm / 1e6, sure: at.sure, setDifferently: at.setDifferently };
}

/**
 * Steps through a session whose unit runs `ppm` slow, taps whenever asked, at the rise; tells when it asked.
 * @param {{cycleMs: number, ppm: number, remembered?: {ppm: number, sdPpm: number} | null, missEvery?: number}} of
 */
export function asked({ cycleMs, ppm, remembered = null, missEvery = 0 }) {
  const [sessionMs, ratio] = [1_800_000, 1 + ppm / 1e6];
  const edges = { holdMs: 0.06 * cycleMs, holdEndMs: 0.3 * cycleMs, restMs: 0.36 * cycleMs };
  const liningUp = createLiningUp({ cycleMs, firstRiseMs: 0, sessionMs, edges, lagMs: 400, remembered });
  const taps = [];
  const placesOfAsking = [];
  let rises = 0;
  for (let n = 0; n * cycleMs * ratio < sessionMs; n++) {
    const riseMs = n * cycleMs * ratio;
    const askedMs = [];
    for (let wallMs = riseMs - cycleMs * ratio; wallMs <= riseMs; wallMs += 100) if (liningUp.wantsTap(wallMs)) askedMs.push(wallMs);
    if (taps.length > 0) placesOfAsking.push(...askedMs.map((wallMs) => (wallMs - riseMs) / ratio + cycleMs));
    if (askedMs.at(-1) === undefined || (askedMs.at(-1) ?? 0) < riseMs - 1000) continue;
    rises += 1;
    if (missEvery > 0 && rises % missEvery === 0) continue;
    taps.push(riseMs / 1000);
    liningUp.tap(riseMs + 400);
  }
  const end = liningUp.estimate(sessionMs);
  return { taps, placesOfAsking, restMs: edges.restMs, known: end.known, ppm: end.ppm, phaseOnly: end.phaseOnly, remember: liningUp.toRemember(), nextAskMs: end.nextAskMs };
}
