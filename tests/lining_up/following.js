/** Follows one line after another through a whole session, as the timer does, and tells which cues were passed. */
import { towards } from "../../static/parts/smooth_following.js";
import { randomFrom } from "./simulation.js";

const PHASES = /** @type {const} */ (["rise", "hold", "ease", "rest"]);

/**
 * @param {{seed: number, cycleMs: number, goals: {atMs: number, byMs: number, ppm: number}[], tickMs: number, cycles: number}} of
 *   each goal: from when on the unit is found to be how far from the first line
 */
export function follow({ seed, cycleMs, goals, tickMs, cycles }) {
  const random = randomFrom(seed);
  const edges = [0, 0.08, 0.3, 0.38].map((share) => Math.round(share * cycleMs));
  const cues = Array.from({ length: cycles }, (_, n) => edges.map((edge, phase) => ({ atMs: n * cycleMs + edge, phase: PHASES[phase] }))).flat();
  let now = { zeroMs: 0, ratio: 1 };
  let [index, wallMs, wentBack, mostJumpMs] = [0, 0, 0, 0];
  const passed = [0];
  const offMs = [];
  while (index < cues.length - 1 && wallMs < 3 * cycles * cycleMs) {
    wallMs += tickMs * (0.5 + random());
    const position = (wallMs - now.zeroMs) / now.ratio;
    while (index < cues.length - 1 && (cues[index + 1]?.atMs ?? Infinity) <= position) passed.push(++index);
    const goal = goals.findLast(({ atMs }) => atMs <= wallMs);
    if (!goal) continue;
    const line = { zeroMs: goal.byMs, ratio: 1 + goal.ppm / 1e6 };
    const [cue, next] = [cues[index], cues[index + 1]];
    const rest = cue && next && cue.phase === "rest" ? { fromMs: cue.atMs, toMs: next.atMs } : null;
    now = towards({ now, goal: line, wallMs, cycleMs, rest });
    const after = (wallMs - now.zeroMs) / now.ratio;
    if (after < (cue?.atMs ?? 0)) wentBack += 1;
    if (next && after >= next.atMs) mostJumpMs = Infinity;
    if (!rest) mostJumpMs = Math.max(mostJumpMs, Math.abs(after - position));
    const off = after - (wallMs - line.zeroMs) / line.ratio;
    offMs.push({ wallMs, offMs: Math.abs(off - cycleMs * Math.round(off / cycleMs)) });
  }
  const inOrder = passed.every((cue, n) => cue === n);
  return { inOrder, all: passed.length === cues.length, wentBack, mostJumpMs, lastOffMs: offMs.at(-1)?.offMs ?? 0 };
}
