"""Dose by muscle, steps left out, hours, the unit's clock, the skin over time: worked by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from types import SimpleNamespace
from typing import cast

import pytest

from tests.practice.invented import MONDAY, entry, exercise, plan, session
from webapp.planned_dose import planned_dose
from webapp.practice.dose_by_log import ChannelPlan, dose_by_muscle
from webapp.practice.habits import hours_of_day, set_up, unit_clock
from webapp.practice.session import read_log
from webapp.practice.skin_map import skin_seen
from webapp.practice.summary import summarise
from webapp.storage.plans import Plan

DAY = timedelta(days=1)
PLAN = plan(exercises=(exercise(muscles=("wrist extensors",), steps=("Skin clean", "Pads on", "Phone near")),))


def whole_session(_version: int, _exercise: int, planned_s: int) -> Sequence[ChannelPlan]:
    """Plans two contractions a minute of five seconds' flat top each at 20 mA."""
    n = planned_s // 30
    return (ChannelPlan(contractions=n, flat_s=n * 5.0, each_s=5.0, strength=20.0),)


def test_the_dose_by_the_log_against_what_was_due() -> None:
    """Two of four sessions, one cut to half, one without a strength: each product has only what is known."""
    log = read_log([session(1, MONDAY, contractions_n=[40], strength_half_ma=[44]),
                    session(2, MONDAY + DAY, contractions_n=[20], strength_half_ma=[-1], cued_s=600)])
    summary = summarise(log, [PLAN], today=MONDAY + 4 * DAY, known_before=MONDAY + 4 * DAY)
    (dose,) = dose_by_muscle(summary.sessions, summary.days, [PLAN], whole_session)
    assert (dose.muscle, dose.contractions, dose.due_contractions) == ("wrist extensors", 60, 160)
    assert (dose.flat_s, dose.due_flat_s, dose.share) == (300.0, 800.0, 0.375)
    assert (dose.typed_s, dose.product, dose.mean_strength) == (200.0, 200.0 * 22, 22.0)
    assert (dose.due_product, dose.product_share) == (800.0 * 20, 4400 / 16000)


def test_milliamperes_and_levels_never_mix() -> None:
    """A muscle whose unit shows levels is another row."""
    level = plan(exercises=(exercise(muscles=("wrist extensors",), shows="level"),), version=2, starts=MONDAY + DAY)
    log = read_log([session(1, MONDAY), entry(2, "session", MONDAY + DAY, version=2, exercise=1, planned_s=1200,
                                              cued_s=1200, contractions_n=[40], strength_level=[7])])
    summary = summarise(log, [PLAN, level], today=MONDAY + DAY, known_before=MONDAY + 2 * DAY)
    found = dose_by_muscle(summary.sessions, summary.days, [PLAN, level], whole_session)
    assert [(d.muscle, d.shows, d.product) for d in found] == [
        ("wrist extensors", "ma", 42 * 5.0 * 22), ("wrist extensors", "level", 40 * 5.0 * 7)]


def test_steps_left_out_are_named_by_their_words() -> None:
    """The most often first, of the sessions that had the step; a number without a step is shown as it is."""
    log = read_log([session(n, MONDAY + n * DAY, steps_skipped=left)
                    for n, left in enumerate(([], [2], [2, 3], [9]))])
    assert [(s.text, s.skipped_n, s.of_n) for s in set_up(log.sessions, [PLAN], 120).steps] == [
        ("Pads on", 2, 4), ("9", 1, 1), ("Phone near", 1, 4)]


def test_steps_that_took_longest_are_timed_and_slow_above_the_clinics_limit() -> None:
    """Of the sessions that say so; just at the limit is not slow; the middle of a step's times, and of the whole."""
    told = [(2, 95, 300), (2, 121, 340), (2, 120, 260), (3, 130, 200)]
    log = read_log([session(9, MONDAY, steps_skipped=[3]), *(
        session(n, MONDAY + n * DAY, longest_step=step, longest_step_s=longest_s, set_up_s=all_s)
        for n, (step, longest_s, all_s) in enumerate(told, 1))])
    found = set_up(log.sessions, [PLAN], 120)
    assert (found.timed_n, found.typical_s) == (4, 280)
    assert [(s.text, s.skipped_n, s.of_n, s.longest_n, s.typical_s, s.slow_n, s.timed_n) for s in found.steps] == [
        ("Phone near", 1, 5, 1, 130, 1, 4), ("Pads on", 0, 5, 3, 120, 1, 4)]
    assert [s.slow_n for s in set_up(log.sessions, [PLAN], 90).steps] == [3, 1]


def test_hours_and_the_units_clock() -> None:
    """Sessions by the hour that they began in; the period where the taps gave one."""
    log = read_log([session(1, MONDAY, hour=9, period_ppm=1200), session(2, MONDAY, hour=21, period_ppm=-300),
                    session(3, MONDAY + DAY, hour=9, period_ppm=1_000_000)])
    assert {hour: n for hour, n in enumerate(hours_of_day(log.sessions)) if n} == {9: 2, 21: 1}
    clock = unit_clock(log.sessions)
    assert clock
    assert (clock.last_ppm, clock.median_ppm, clock.known_n, clock.of_n) == (-300, 450.0, 2, 3)
    assert unit_clock([]) is None


def test_the_skin_over_time_knows_place_and_moment() -> None:
    """What a session and the look next morning saw, at the places of its plan; unchanged is not listed."""
    log = read_log([session(7, MONDAY, skin_after=[1, 0]),
                    entry(8, "skin_later", MONDAY + DAY, session_seq=7, when=2, skin=[0, 4])])
    assert [(s.place, s.moment, s.answer) for s in skin_seen(log, [PLAN])] == [
        ("forearm, upper", "after", 1), ("forearm, lower", "morning", 4)]


@pytest.mark.parametrize(("cued", "capped", "uncapped"), [(1200, 0.5, 0.5), (2400, 0.5, 1.0)])
def test_minutes_capped_and_uncapped(cued: int, capped: float, uncapped: float) -> None:
    """A day's surplus counts in the one and not in the other."""
    log = read_log([session(1, MONDAY, cued_s=cued)])
    total = summarise(log, [PLAN], today=MONDAY + 2 * DAY, known_before=MONDAY + 2 * DAY).total
    assert (total.minutes_share, total.minutes_share_uncapped) == (capped, uncapped)


@pytest.mark.parametrize("at_end", ["cut", "finish_contraction"])
def test_a_whole_session_is_all_of_its_dose(at_end: str) -> None:
    """64 contractions of 8 s flat top and a piece of the 65th: the piece is in neither side, so 64 done are 100 %."""
    settings = {
        "format": "wattlebird.plan/1", "drive": "cycled", "frequency_hz": 35, "pulse_width_us": 300, "session_min": 15,
        "ramp_up_s": 1, "hold_s": 8, "ramp_down_s": 1, "rest_s": 4, "at_end": at_end,
        "channels": [{"intensity_ma": 20, "pad_cm2": 25}]}
    issued = {"exercises": [{"exercise": 1, "settings": settings}]}
    planned = planned_dose([cast(Plan, SimpleNamespace(version=1, issued=issued))])
    [channel] = planned(1, 1, 900)
    whole = 64 if at_end == "cut" else 65
    assert (channel.contractions, channel.flat_s) == (whole, whole * 8.0)
    version = plan(exercises=(exercise(muscles=("deltoid",), session_s=900),))
    log = read_log([session(1, MONDAY, planned_s=900, cued_s=900, contractions_n=[whole])])
    summary = summarise(log, [version], today=MONDAY + DAY, known_before=MONDAY + DAY, period=(MONDAY, MONDAY))
    [dose] = dose_by_muscle(summary.sessions, summary.days, [version], planned)
    assert dose.share == 1.0
