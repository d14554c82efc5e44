"""What each channel does in a session of an issued plan, at any length: the timetable asked once for each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from webapp.formats.plan_json import read_settings
from webapp.practice.dose_by_log import ChannelPlan, PlannedDose
from webapp.stimulation.cycle import work_out_cycle
from webapp.stimulation.plan import Settings
from webapp.stimulation.timetable import ChannelTally, tally
from webapp.storage.plans import Plan


def planned_dose(plans: Iterable[Plan]) -> PlannedDose:
    """Gives the function that says what a session was to be; a version that is not there has no channels."""
    issued = {(plan.version, exercise["exercise"]): exercise for plan in plans for exercise in plan.issued["exercises"]}

    @cache
    def of(version: int, exercise: int, planned_s: int) -> tuple[ChannelPlan, ...]:
        found = issued.get((version, exercise))
        if found is None or planned_s <= 0:
            return ()
        settings = read_settings(found["settings"])
        return _channels(replace(settings, session_min=planned_s / 60))

    return of


def _channels(settings: Settings) -> tuple[ChannelPlan, ...]:
    cycle = work_out_cycle(settings)
    return tuple(
        ChannelPlan(
            contractions=counted.completed, flat_s=_flat_ms(settings, counted, contraction.flat_ms) / 1000,
            each_s=contraction.flat_ms / 1000,
            strength=channel.intensity_ma if channel.intensity_ma is not None else channel.intensity_level,
            steady=settings.is_steady)
        for channel, counted, contraction in zip(settings.channels, tally(settings, cycle), cycle.contractions,
                                                 strict=True))


def _flat_ms(settings: Settings, counted: ChannelTally, flat_ms: int) -> int:
    """Counts the flat top of whole contractions, as the log does: what the end cuts off is in neither side."""
    return counted.flat_time_ms if settings.is_steady else counted.completed * flat_ms
