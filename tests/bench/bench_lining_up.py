"""How near the cues come to a unit with a clock of its own: 10,000 simulated sessions beside the Cramér–Rao bound."""

from __future__ import annotations

from typing import Any

from tests.lining_up.node_run import node_value

SESSIONS = 10_000
MOST_RATIO = 1.25
ABOUT = f"""   {SESSIONS} sessions of 30 minutes, cycles 8–60 s, clocks anywhere within ±2 %, jitter 150 ms, 5 % of taps
   at the end of the hold. RMS errors of the cues until the next tap, in ms. Bound: Cramér–Rao of the honest taps with
   a Gaussian prior of the clock of the same variance (2 %/√3); without an honest tap a phase anywhere. A ratio under 1:
   wrong taps, known for such, tell too. Phase only: the newest tap. No lining up: the tap that starts the cues."""
HEAD = "tap   states    ours   p95  bound  ratio | at the tap  bound  ratio | phase only   p95 | no lining up"


def run() -> None:
    """Prints errors modulo the cycle by tap number, in ms; the aim is pooled RMS at most 1.25 times the bound."""
    print(ABOUT)
    seen = simulated()
    print_table(seen)
    print_asking(seen)
    for name, world in VARIANTS:
        print(f"   {name}: {one_line(simulated(**world)['pooled'])}")
    print_lag()
    for low, high in ((0, 2), (3.5, 5), (5, 10), (10, 20), (20, 30)):
        seen = simulated(sessions=2000, clockShare=[low / 100, high / 100])
        taps = seen["differentAtTap"]
        after = f"after {sum(taps) / len(taps):.1f} taps" if taps else ""
        share = 100 * seen["differentShare"]
        print(f"   unit off by {low}–{high} %: said to be set differently in {share:.1f} % of sessions {after}")
    print_special()


VARIANTS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("another seed", {"seed": 2}),
    ("no wrong taps", {"wrongShare": 0}),
    ("5 % wrong anywhere in the cycle", {"wrongAt": "anywhere"}),
    ("10 % wrong", {"wrongShare": 0.1}),
    ("jitter 300 ms", {"jitterMs": 300}),
)


def simulated(**world: Any) -> Any:
    """Simulates sessions in a world (see tests/lining_up/simulation.js)."""
    of = {"sessions": SESSIONS, "seed": 1, **world}
    return node_value("tests/lining_up/simulation.js", "m.simulateMany(of)", of=of)


def print_table(seen: dict[str, Any]) -> None:
    """Prints a row for each tap number and the pooled ones."""
    print(f"   {HEAD}")
    rows = [(str(number), each["all"]) for number, each in enumerate(seen["byTap"], 1) if each["all"]["states"] >= 100]
    rows += [("3 on", seen["pooled"]), ("3 on*", seen["identifiable"])]
    for name, row in rows:
        print(
            f"   {name:5}{row['states']:7}{row['rmsMs']:8.0f}{row['p95Ms']:6.0f}"
            f"{row['boundMs']:7.0f}{row['ratio']:7.2f} |"
            f"{row['atTapRmsMs']:11.0f}{row['atTapBoundMs']:7.0f}{row['atTapRatio']:7.2f} |"
            f"{row['phaseOnlyMs']:11.0f}{row['phaseOnlyP95Ms']:6.0f} |{row['firstMs']:13.0f}"
        )
    verdict = "met" if max(seen["pooled"]["ratio"], seen["pooled"]["atTapRatio"]) <= MOST_RATIO else "NOT MET"
    print(f"   pooled from the third tap on, at most {MOST_RATIO} × the bound: {verdict}")
    print(f"   * states where most taps were honest: all but {100 * seen['notIdentifiableShare']:.2f} %")


def print_asking(seen: dict[str, Any]) -> None:
    """Prints how many taps a session needs until the clock is known."""
    print(
        f"   taps asked a session {seen['tapsAsked']:.1f}; clock known by its end in {100 * seen['knownShare']:.1f} %;"
        f" wrongly said to be set differently {100 * seen['differentShare']:.2f} %"
    )


def print_lag() -> None:
    """Prints the bias of the cues (early is negative) where the lag of the taps is poorly known."""
    world = {"jitterMs": 300, "lagMs": [300, 2000], "lagKnownTo": 0.4}
    row = simulated(**world)["pooled"]
    print(
        f"   jitter 300 ms, lags 0.3–2 s known to ±40 %: bias {row['biasMs']:+.0f} ms (median {row['medianMs']:+.0f};"
        f" early is negative), late by more than 0.5 s {100 * row['halfLateShare']:.1f} %, {one_line(row)}"
    )


def print_special() -> None:
    """Prints what short cycles and a remembered clock give."""
    short = simulated(sessions=2000, cycleS=[4, 7.9])["pooled"]
    print(f"   cycles of 4–8 s, phase only: {short['rmsMs']:.0f} ms between taps, {short['atTapRmsMs']:.0f} at a tap")
    seen = simulated(sessions=2000, remembered=True)
    row = seen["byTap"][0]
    print(
        f"   clock remembered to 150 ppm: {seen['tapsAsked']:.0f} tap asked, p50 {row['all']['p50Ms']:.0f} ms,"
        f" p95 of honest ones {row['mostHonest']['p95Ms']:.0f} ms, over the whole session"
    )


def one_line(row: dict[str, Any]) -> str:
    """Gives a pooled result in words."""
    return (
        f"RMS {row['rmsMs']:.0f} ms = {row['ratio']:.2f} × the bound (at the tap {row['atTapRatio']:.2f}),"
        f" p95 {row['p95Ms']:.0f}, p99 {row['p99Ms']:.0f}; phase only {row['phaseOnlyMs']:.0f},"
        f" no lining up {row['firstMs']:.0f}"
    )
