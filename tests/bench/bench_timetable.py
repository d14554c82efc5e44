"""How fast the core is, as ratios that another machine can compare."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

from webapp.stimulation.cue_sheet import Wording, compile_cues
from webapp.stimulation.plan import Channel, Settings
from webapp.stimulation.timetable import build_timetable

CHANNEL = Channel(intensity_ma=24, pad_cm2=25)
# a cycle of 2 s, two channels, 90 minutes: the longest list of intervals that a plan can ask for in practice
QUICK = Settings(
    drive="cycled",
    frequency_hz=35,
    pulse_width_us=300,
    session_min=90,
    ramp_up_s=0.2,
    hold_s=0.6,
    ramp_down_s=0.2,
    rest_s=1,
    delay_s=0.5,
    channels=(CHANNEL, CHANNEL),
)
WORDING = (Wording(rise="Reach", hold="Keep", ease="Let go", rest="Rest"),)
MOST_RATIO = 10


def _best_s(work: Callable[[], object], times: int = 15) -> float:
    best = float("inf")
    for _ in range(times):
        began = perf_counter()
        work()
        best = min(best, perf_counter() - began)
    return best


def run() -> None:
    """Prints how many times longer the timetable takes than building as many tuples; the aim is 10 at most."""
    count = len(build_timetable(QUICK).intervals)
    tuples_s = _best_s(lambda: [(n, n + 1, 1, "hold", n) for n in range(count)])
    timetable_s = _best_s(lambda: build_timetable(QUICK))
    cues_s = _best_s(lambda: compile_cues(QUICK, 1, WORDING, {"Reach": 500, "Rest": 400}), times=3)
    print(f"   {count} tuples: {tuples_s * 1000:.1f} ms")
    print(f"   timetable: {timetable_s * 1000:.1f} ms = {timetable_s / tuples_s:.1f} × (aim: at most {MOST_RATIO})")
    print(f"   cue sheet: {cues_s * 1000:.1f} ms = {cues_s / tuples_s:.1f} ×")
