/** Simulated sessions with a unit whose clock is its own: what the estimator makes of the taps, beside simpler ways and the bound. */
import { createLiningUp } from "../../static/parts/lining_up.js";

/**
 * @typedef {object} World
 * @property {number} sessions
 * @property {number} seed
 * @property {number} [jitterMs]
 * @property {number} [wrongShare]  of taps, at the wrong edge
 * @property {"hold_end" | "anywhere"} [wrongAt]  hold_end: the wrong edge is the end of the hold; anywhere: no edge at all, which the model knows least of
 * @property {[number, number]} [cycleS]
 * @property {[number, number]} [clockShare]  size of the unit's clock error, of either sign
 * @property {[number, number] | null} [lagMs]  lag of a tap; null: half of the ramp and the reaction
 * @property {number} [lagKnownTo]  0.4: the lag that is assumed is within 40 % of the true one
 * @property {boolean} [remembered]  the clock was found in an earlier session, to 150 ppm
 *
 * @typedef {{a: number, r: number, cycleMs: number, holdEndMs: number, lagMs: number, assumedMs: number}} Unit
 * @typedef {{wallMs: number, t: number, honest: boolean}} Tap  t: of the unit's rise before it, in the unit's own time
 * @typedef {{tap: number, mostHonest: boolean, honestTaps: number, atTap: number, bound2: number, late: Way, setDifferently: boolean, known: boolean}} Row
 * @typedef {{ours: number[], phaseOnly: number[], first: number[], bound2: number[]}} Way  errors of the cues up to the next tap
 */

const SESSION_MS = 1_800_000;
const REACTION_MS = 300;
const PRIOR_SD = 0.02 / Math.sqrt(3); // the variance of a clock anywhere within 2 %

/** Numbers from 0 to 1 (mulberry32). @param {number} seed */
export function randomFrom(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let z = Math.imul(state ^ (state >>> 15), state | 1);
    z = (z + Math.imul(z ^ (z >>> 7), z | 61)) ^ z;
    return ((z ^ (z >>> 14)) >>> 0) / 4294967296;
  };
}

/** @param {() => number} random */
function normal(random) {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

/** @param {number} off @param {number} cycle */
const wrapped = (off, cycle) => off - cycle * Math.round(off / cycle);

/**
 * One session: the rows of its taps.
 * @param {World} world
 * @param {() => number} random
 */
export function simulate(world, random) {
  const { jitterMs = 150, wrongShare = 0.05, wrongAt = "hold_end", cycleS = [8, 60], clockShare = [0, 0.02], lagMs = null, lagKnownTo = 0 } = world;
  /** @param {[number, number]} range */
  const within = ([low, high]) => low + (high - low) * random();
  const cycleMs = 1000 * within(cycleS);
  const rampMs = Math.min(1000 * within([0.5, 3]), 0.15 * cycleMs);
  const holdEndMs = rampMs + cycleMs * within([0.15, 0.4]);
  const edges = { holdMs: rampMs, holdEndMs, restMs: holdEndMs + rampMs };
  const trueLag = lagMs ? within(lagMs) : rampMs / 2 + REACTION_MS;
  const assumedMs = trueLag * (1 + lagKnownTo * (2 * random() - 1));
  const r = 1 + within(clockShare) * (random() < 0.5 ? -1 : 1);
  const unit = { a: 1e6 * random(), r, cycleMs, holdEndMs, lagMs: trueLag, assumedMs };
  const remembered = world.remembered ? { ppm: (r - 1) * 1e6 + 150 * normal(random), sdPpm: 150 } : null;
  const lagSdMs = (lagKnownTo * assumedMs) / Math.sqrt(3);
  const liningUp = createLiningUp({
    cycleMs, firstRiseMs: 0, sessionMs: SESSION_MS, edges, lagMs: assumedMs, lagSdMs, reactionMs: Math.min(REACTION_MS, assumedMs), remembered,
  });
  /** @type {Tap[]} */
  const taps = [];
  /** @type {Row[]} */
  const rows = [];
  /** @type {number | null} */
  let askMs = unit.a - 100;
  while (askMs !== null && askMs < unit.a + SESSION_MS - cycleMs) {
    const honest = random() >= wrongShare;
    const edgeMs = honest ? 0 : wrongAt === "anywhere" ? cycleMs * random() : holdEndMs;
    const n = Math.ceil(((askMs - unit.a) / r - edgeMs) / cycleMs);
    const reactedMs = (honest ? trueLag : Math.min(REACTION_MS, trueLag)) + jitterMs * normal(random);
    const wallMs = unit.a + r * (n * cycleMs + edgeMs) + reactedMs;
    taps.push({ wallMs, t: n * cycleMs, honest });
    const found = liningUp.tap(wallMs);
    askMs = found.nextAskMs;
    rows.push(rowOf(unit, taps, found, (askMs ?? unit.a + SESSION_MS) - wallMs, jitterMs));
  }
  return rows;
}

/**
 * @param {Unit} unit
 * @param {Tap[]} taps
 * @param {import("../../static/parts/lining_up.js").Estimate} found
 * @param {number} untilNextMs
 * @param {number} jitterMs
 * @returns {Row}
 */
function rowOf(unit, taps, found, untilNextMs, jitterMs) {
  const { a, r, cycleMs, assumedMs } = unit;
  const last = /** @type {Tap} */ (taps[taps.length - 1]);
  const first = /** @type {Tap} */ (taps[0]);
  const honest = taps.filter((tap) => tap.honest);
  const bound2At = bound(honest.map(({ t }) => t), jitterMs, cycleMs);
  /** @param {number} t @param {number} zeroMs @param {number} ratio */
  const error = (t, zeroMs, ratio) => {
    const wall = a + r * t;
    const k = Math.round((wall - zeroMs) / ratio / cycleMs);
    return wrapped(zeroMs + ratio * k * cycleMs - wall, cycleMs);
  };
  /** @type {Way} */
  const late = { ours: [], phaseOnly: [], first: [], bound2: [] };
  const cues = Math.max(1, Math.floor(untilNextMs / cycleMs));
  for (let step = 1; step <= 4; step++) {
    const t = last.t + cycleMs * Math.max(1, Math.round((cues * step) / 4));
    late.ours.push(error(t, found.zeroMs, found.ratio));
    late.phaseOnly.push(error(t, last.wallMs - assumedMs, 1));
    late.first.push(error(t, first.wallMs - assumedMs, 1));
    late.bound2.push(bound2At(t));
  }
  return {
    tap: taps.length, mostHonest: 2 * honest.length > taps.length, honestTaps: honest.length, late,
    atTap: error(last.t, found.zeroMs, found.ratio), bound2: bound2At(last.t), setDifferently: found.setDifferently, known: found.known,
  };
}

/**
 * The Cramér–Rao bound (variance) of a cue from honest taps and the clock's prior; without any, a phase anywhere in the cycle.
 * @param {number[]} times
 * @param {number} sdMs
 * @param {number} cycleMs
 */
function bound(times, sdMs, cycleMs) {
  let [n, st, stt] = [0, 0, (sdMs / PRIOR_SD) ** 2];
  for (const t of times) { n += 1; st += t; stt += t * t; }
  const determinant = n * stt - st * st;
  const most = cycleMs ** 2 / 12;
  return (/** @type {number} */ t) => (n === 0 ? most : Math.min(most, (sdMs ** 2 * (stt - 2 * t * st + t * t * n)) / determinant));
}

/** @param {number[]} squares */
const rootMean = (squares) => Math.sqrt(squares.reduce((sum, each) => sum + each, 0) / squares.length);
/** @param {number[]} errors */
const rms = (errors) => rootMean(errors.map((each) => each ** 2));
/** @param {number[]} values @param {number} share */
const quantile = (values, share) => [...values].sort((one, other) => one - other)[Math.floor(share * (values.length - 1))] ?? NaN;

/** @param {Row[]} rows */
function summary(rows) {
  const of = (/** @type {keyof Way} */ way) => rows.flatMap((row) => row.late[way]);
  const ours = of("ours");
  const [boundMs, atTapBoundMs] = [rootMean(of("bound2")), rootMean(rows.map((row) => row.bound2))];
  return {
    states: rows.length, rmsMs: rms(ours), boundMs, ratio: rms(ours) / boundMs, phaseOnlyMs: rms(of("phaseOnly")), firstMs: rms(of("first")),
    p50Ms: quantile(ours.map(Math.abs), 0.5), p95Ms: quantile(ours.map(Math.abs), 0.95), p99Ms: quantile(ours.map(Math.abs), 0.99),
    phaseOnlyP95Ms: quantile(of("phaseOnly").map(Math.abs), 0.95), firstP95Ms: quantile(of("first").map(Math.abs), 0.95),
    biasMs: ours.reduce((sum, each) => sum + each, 0) / ours.length, medianMs: quantile(ours, 0.5), lateShare: ours.filter((each) => each > 0).length / ours.length,
    halfLateShare: ours.filter((each) => each > 500).length / ours.length,
    atTapRmsMs: rms(rows.map((row) => row.atTap)), atTapBoundMs, atTapRatio: rms(rows.map((row) => row.atTap)) / atTapBoundMs,
  };
}

/**
 * Many sessions, summed up by tap number, and pooled from the third tap on.
 * @param {World} world
 */
export function simulateMany(world) {
  const random = randomFrom(world.seed);
  const sessions = Array.from({ length: world.sessions }, () => simulate(world, random));
  const rows = sessions.flat();
  const judged = rows.filter((row) => row.tap >= 3);
  const identifiable = judged.filter((row) => row.mostHonest);
  const most = Math.max(...rows.map((row) => row.tap));
  const byTap = Array.from({ length: Math.min(10, most) }, (_, n) => rows.filter((row) => row.tap === n + 1))
    .map((all) => ({ all: summary(all), mostHonest: summary(all.filter((row) => row.mostHonest)) }));
  return {
    byTap, pooled: summary(judged), identifiable: summary(identifiable), notIdentifiableShare: 1 - identifiable.length / judged.length,
    differentShare: sessions.filter((each) => each.some((row) => row.setDifferently)).length / sessions.length,
    differentAtTap: sessions.map((each) => each.findIndex((row) => row.setDifferently) + 1).filter((tap) => tap > 0),
    knownShare: sessions.filter((each) => each.at(-1)?.known).length / sessions.length,
    tapsAsked: sessions.reduce((sum, each) => sum + each.length, 0) / sessions.length,
  };
}
