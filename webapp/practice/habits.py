"""How it is done at home: steps of setting up left out or slow, when in the day, how true the unit's clock is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from webapp.practice.schedule import PlanVersion
from webapp.practice.session import MINUTES_A_DAY, Session

HOURS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpStep:
    """One step of setting up, by its words: left out in `skipped_n` of `of_n` sessions that had it.

    Of the `timed_n` sessions that had it and say which step took longest, it did in `longest_n`, then `typical_s`
    (their middle), and was slow in `slow_n`.
    """

    exercise: int
    text: str
    skipped_n: int
    of_n: int
    longest_n: int
    typical_s: float | None
    slow_n: int
    timed_n: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """Setting up: each step that was left out or took longest, and how long all of it took (the middle)."""

    steps: tuple[SetUpStep, ...]
    timed_n: int
    typical_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitClock:
    """The unit's period as the taps gave it, in parts per million from nominal: last, middle, least and most."""

    known_n: int
    of_n: int
    last_ppm: int
    median_ppm: float
    least_ppm: int
    most_ppm: int


def set_up(sessions: Iterable[Session], versions: Sequence[PlanVersion], slow_s: int) -> SetUp:
    """Says where setting up goes wrong, the worst step first; a step is known by its words, whatever its number.

    Slow is a step that took longer than `slow_s`. A session names only the step that took longest.
    """
    alike: dict[tuple[int, int], list[Session]] = {}
    for session in sessions:
        alike.setdefault((session.version, session.exercise), []).append(session)
    skipped, had, timed = (Counter[tuple[int, str]]() for _ in range(3))
    longest_s: dict[tuple[int, str], list[int]] = {}
    whole_s: list[int] = []
    for (version, exercise), same in alike.items():
        steps = _steps(versions, version, exercise)
        knows = [s for s in same if s.longest_step is not None and s.longest_step_s is not None]
        for text in set(steps):
            had[exercise, text] += len(same)
            timed[exercise, text] += len(knows)
        skipped.update((exercise, step_text(steps, n)) for s in same for n in s.steps_skipped)
        whole_s += [s.set_up_s for s in same if s.set_up_s is not None]
        for s in knows:
            longest_s.setdefault((exercise, step_text(steps, s.longest_step or 0)), []).append(s.longest_step_s or 0)
    found_steps = (_step(key, skipped[key], had[key], longest_s.get(key, []), timed[key], slow_s)
                   for key in dict.fromkeys([*skipped, *longest_s]))
    worst_first = sorted(found_steps, key=lambda s: (-s.slow_n - s.skipped_n, -s.longest_n, s.exercise, s.text))
    return SetUp(steps=tuple(worst_first), timed_n=len(whole_s), typical_s=median(whole_s) if whole_s else None)


def _steps(versions: Sequence[PlanVersion], version: int, exercise: int) -> tuple[str, ...]:
    found = next((v.exercise(exercise) for v in versions if v.version == version), None)
    return found.steps if found else ()


def step_text(steps: Sequence[str], number: int) -> str:
    """Names a step by its words; a number without a step is shown as it is."""
    return steps[number - 1] if 0 < number <= len(steps) else str(number)


def _step(key: tuple[int, str], skipped_n: int, had_n: int, longest_s: Sequence[int], timed_n: int,
          slow_s: int) -> SetUpStep:
    exercise, text = key
    return SetUpStep(
        exercise=exercise, text=text, skipped_n=skipped_n, of_n=max(skipped_n, had_n), longest_n=len(longest_s),
        typical_s=median(longest_s) if longest_s else None, slow_n=sum(took_s > slow_s for took_s in longest_s),
        timed_n=max(len(longest_s), timed_n))


def hours_of_day(sessions: Iterable[Session]) -> tuple[int, ...]:
    """Counts the sessions begun in each hour of the phone's day."""
    counted = Counter(s.entry.at_min % MINUTES_A_DAY // 60 for s in sessions)
    return tuple(counted[hour] for hour in range(HOURS))


def unit_clock(sessions: Sequence[Session]) -> UnitClock | None:
    """Says how far the unit's rhythm is from the plan's; None where no session knows it."""
    known = [s.period_ppm for s in sessions if s.period_ppm is not None]
    if not known:
        return None
    return UnitClock(known_n=len(known), of_n=len(sessions), last_ppm=known[-1], median_ppm=float(median(known)),
                     least_ppm=min(known), most_ppm=max(known))
