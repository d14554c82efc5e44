"""What a report is made from: what was chosen, and the same figures as the client's pages show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from webapp.client_log import ClientLog
from webapp.practice.attention import known_before
from webapp.practice.summary import Summary, summarise
from webapp.prescribing.changes import day_text
from webapp.storage.clinic import Clinic
from webapp.therapist.goals_page import GoalsPage
from webapp.translations import Translate

PARTS = ("aim", "plan", "training", "home", "skin", "goals", "measures", "words", "asked", "working")
ASKS = ("unit", "pads", "sessions", "other")
READERS = ("doctor", "insurer", "funder")


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What goes into a report, as the therapist chose it; `words_agreed`: the client agreed to their own words."""

    reader: str
    reader_name: str
    first: date
    last: date
    parts: tuple[str, ...]
    first_name: bool
    words_agreed: bool
    aim: str
    training: str
    asks: tuple[str, ...]
    asked: str
    why: str
    photos: tuple[str, ...] = ()  # hashes, each chosen by itself

    def has(self, part: str) -> bool:
        return part in self.parts


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What a report speaks of."""

    t: Translate
    chosen: Chosen
    log: ClientLog
    summary: Summary
    goals: GoalsPage
    clinic: Clinic
    author: str
    taught: Mapping[date, bool]  # days with a recorded teach-back; whether with the unit


def summary_of_period(log: ClientLog, first: date, last: date) -> Summary:
    """Lays the log over the days of a period, by the same computation as the review's."""
    return summarise(log.log, log.versions, today=log.today, known_before=known_before(log.contact, log.today),
                     period=(first, last))


def full_date(t: Translate, day: date) -> str:
    """Writes a day with its year: a report is read later."""
    return day_text(day.isoformat(), t)


def chosen_fields(chosen: Chosen) -> Mapping[str, object]:
    """Gives what was chosen as a form has it, to be kept and offered again."""
    return {"reader": chosen.reader, "reader_name": chosen.reader_name, "first": chosen.first.isoformat(),
            "last": chosen.last.isoformat(), "parts": list(chosen.parts), "aim": chosen.aim,
            "first_name": chosen.first_name, "words_agreed": chosen.words_agreed, "training": chosen.training,
            "asks": list(chosen.asks), "asked": chosen.asked, "why": chosen.why, "photos": list(chosen.photos)}
