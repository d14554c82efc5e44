"""Seeded practice logs of invented clients, with an account of what each choice costs at best.

`study_log` draws the fields that the published figures of the return code were measured with, choice by choice in the
same order, so the figures compare. `session_log` puts the same sessions into the fields of wattlebird.record/1 and
draws the further ones; `mixed_log` adds the other kinds of records between them.

Every choice goes through `Account.draw`, which adds −log2 of its probability to the account of its field: their sum is
what someone pays who knows the client's habits (the oracle).
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tests.bench.synthetic_note import make_note

NOT_ANSWERED = 11
DEVICE = "5a17e0c4b2963f81"
# of the study's fields, those that wattlebird.record/1 has not
_DROPPED = frozenset({"itch", "ppain", "fade", "app", "seqgap", "reps"})
_FADES = (5, 10, 15, 20, 30, 45, 60, 90)
_FADE_WEIGHTS = ((0.25, 0.3, 0.15, 0.15, 0.1, 0.03, 0.01, 0.01), (0.05, 0.15, 0.15, 0.2, 0.25, 0.1, 0.05, 0.05))
_CHANGES = (0, 1, -1, 2, -2)
Log = list[dict[str, Any]]


class Account:
    """Draws, and keeps what each field has cost in bits."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.bits: dict[str, float] = {}

    def draw(self, weights: Sequence[float], field: str, lowest: int = 0) -> int:
        """Draws an index by weight; gives it plus `lowest`."""
        total = sum(weights)
        left, reached = self.random.random() * total, 0.0
        for n, weight in enumerate(weights):
            reached += weight
            if left < reached or n == len(weights) - 1:
                self.bits[field] = self.bits.get(field, 0.0) - math.log2(max(weight, 1e-12) / total)
                return n + lowest
        raise ValueError("nothing to draw from")

    def flip(self, chance: float, field: str) -> bool:
        """Draws yes or no."""
        return self.draw([1 - chance, chance], field) == 1


def bell(mean: float, deviation: float, lowest: int, highest: int) -> list[float]:
    """Gives the weights of a bell curve over whole numbers."""
    weights = [math.exp(-0.5 * ((x - mean) / deviation) ** 2) + 1e-6 for x in range(lowest, highest + 1)]
    total = sum(weights)
    return [weight / total for weight in weights]


@dataclass(slots=True, kw_only=True)
class Client:
    """One invented client's habits."""

    pads: int
    days_a_week: int
    plan_min: int
    cycle_s: int
    step: int
    counts_by_itself: bool
    reminders: list[int]
    scatter: list[float]
    by_reminder: float
    misses: float
    stops: float
    pauses: float
    effort: float
    pain: float
    help: int
    help_as_usual: float
    skips: list[float]
    redness: list[float]
    itches: float
    leaves_out: float


def _client(choose: random.Random) -> Client:
    uniform, choice = choose.uniform, choose.choice
    return Client(
        pads=choice([2, 4, 4, 4]),
        days_a_week=choice([5, 5, 6, 7, 7]),
        plan_min=choice([15, 20, 20, 30, 30, 45]),
        cycle_s=choice([8, 10, 12, 15, 20]),
        step=choice([1, 1, 2]),
        counts_by_itself=choose.random() < 0.35,
        reminders=[choice([480, 510, 540, 570, 600]), choice([960, 990, 1020, 1050, 1080])],
        scatter=[uniform(12, 45), uniform(15, 60)],
        by_reminder=uniform(0.15, 0.55),
        misses=uniform(0.02, 0.15),
        stops=uniform(0.02, 0.08),
        pauses=uniform(0.06, 0.22),
        effort=uniform(3, 7),
        pain=uniform(0, 4),
        help=choose.choices([0, 1, 2], [0.55, 0.3, 0.15])[0],
        help_as_usual=uniform(0.85, 0.97),
        skips=[uniform(0, 0.04) for _ in range(16)],
        redness=[uniform(0.08, 0.4) for _ in range(4)],
        itches=uniform(0.02, 0.1),
        leaves_out=uniform(0.0, 0.06),
    )


class _Practice:
    """Lets one client practise; the order of the draws is the study's."""

    def __init__(self, seed: int) -> None:
        self.choose = random.Random(seed * 7919 + 13)
        self.account = Account(seed)
        self.client = client = _client(self.choose)
        choice, below = self.choose.choice, self.choose.randrange
        self.channels = 2 if client.pads == 4 else choice([1, 2])
        self.day = self.first_day = 20_000 + below(400)
        self.zone, self.version, self.app = choice([0, 4, 4, 4, 8, -20]), 1, 104
        first = below(24, 80) // client.step * client.step
        second = below(24, 80) // client.step * client.step if self.channels == 2 else 0
        self.strength = [first, second]
        self.pain, self.effort, self.skipped = min(10, round(client.pain)), round(client.effort), 0
        self.grades = [0] * 4
        self.seq, self.reviews = 1 + below(30), 0
        self.log: Log = []

    def run(self, sessions: int) -> None:
        """Goes through the days until there are enough sessions."""
        while len(self.log) < sessions:
            for slot in (0, 1):
                if len(self.log) < sessions:
                    self._maybe_practise(slot)
            self.day += 1

    def _maybe_practise(self, slot: int) -> None:
        is_off = self.day % 7 >= self.client.days_a_week
        if self.account.flip(0.93 if is_off else self.client.misses, "day"):
            return
        self._review()
        record = {"start": self.day * 1440 + self._minute(slot), **self._session()}
        self.log.append({"seq": self.seq, "planv": self.version, "app": self.app, "tz": self.zone, **record})
        self.seq += 1
        if self.account.flip(0.004, "tz"):
            self.zone += self.account.draw([0.5, 0.5], "tz") * 8 - 4
        if self.account.flip(0.01, "seqgap"):
            self.seq += 1

    def _review(self) -> None:
        if (self.day - self.first_day) // 14 > self.reviews:
            self.reviews = (self.day - self.first_day) // 14
            if self.account.flip(0.5, "planv"):
                self.version += 1
                self.client.plan_min = self.choose.choice([15, 20, 30, 45])
        if self.account.flip(1 / 60, "app"):
            self.app += self.account.draw([0.7, 0.2, 0.1], "app", 1)

    def _minute(self, slot: int) -> int:
        reminder = self.client.reminders[slot]
        if self.account.flip(self.client.by_reminder, "tod0"):
            return reminder + self.account.draw([0.25, 0.25, 0.2, 0.1, 0.08, 0.07, 0.05], "tod")
        return self.account.draw(bell(reminder + 10, self.client.scatter[slot], 300, 1380), "tod", 300)

    def _session(self) -> dict[str, Any]:
        draw, client = self.account.draw, self.client
        stopped, pauses = self.account.flip(client.stops, "end"), 0
        while pauses < 6 and self.account.flip(client.pauses, "pauses"):
            pauses += 1
        minutes = draw([1] * (client.plan_min - 1), "min", 1) if stopped else client.plan_min
        reps = self._reps(minutes * 60 // client.cycle_s, stopped, pauses)
        self._turn()
        before = [draw([0.985 - 0.03 * g, 0.012 + 0.03 * g, 0.003], "pre") for g in self.grades[: client.pads]]
        after = [self._pad(n) for n in range(client.pads)]
        answers = self._answers()
        note = make_note(self.account.random) if self.account.flip(0.15, "hasnote") else ""
        figures = {"min": minutes, "end": int(stopped), "pauses": pauses, "reps": reps, "int": list(self.strength)}
        return {**figures, "pre": before, "post": after, **answers, "note": note}

    def _reps(self, full: int, stopped: bool, pauses: int) -> int:
        if self.client.counts_by_itself and not stopped:
            return full - (self.account.draw([0.6, 0.2, 0.1, 0.1], "reps") if pauses else 0)
        return self.account.draw(bell(full * 0.93, max(1.5, full * 0.05), 0, full + 5), "reps")

    def _turn(self) -> None:
        step = self.client.step
        way = self.account.draw([0.68, 0.18, 0.10, 0.02, 0.02], "int")
        self.strength[0] = max(2, min(200, self.strength[0] + _CHANGES[way] * step))
        if self.channels == 2:
            weights = [0.85, 0.08, 0.05, 0.01, 0.01] if way == 0 else [0.35, 0.1, 0.1, 0.02, 0.02]
            weights[way] += 0.4 if way else 0.0
            change = _CHANGES[self.account.draw(weights, "int")] * step
            self.strength[1] = max(2, min(200, self.strength[1] + change))

    def _pad(self, n: int) -> tuple[int, int, int, int]:
        chance = min(self.client.redness[n] * (1.5 if self.grades[n] else 0.8), 0.75)
        weights = [1 - chance, chance * 0.85, chance * 0.13, chance * 0.018, chance * 0.002]
        grade = self.grades[n] = self.account.draw(weights, "grade")
        itches = self.account.flip(self.client.itches * (3 if grade else 0.3), "itch")
        hurts = self.account.flip(0.01 + 0.06 * (grade >= 2), "ppain")
        fade = _FADES[self.account.draw(_FADE_WEIGHTS[grade >= 2], "fade")] if grade else 0
        return grade, int(itches), int(hurts), fade

    def _answers(self) -> dict[str, int]:
        draw, flip, client = self.account.draw, self.account.flip, self.client
        self.pain = draw(bell(0.6 * self.pain + 0.4 * client.pain, 0.9, 0, 10), "pain")
        before = NOT_ANSWERED if flip(client.leaves_out, "na") else self.pain
        after = NOT_ANSWERED if flip(client.leaves_out, "na") else draw(bell(self.pain + 0.2, 0.7, 0, 10), "pain")
        self.effort = draw(bell(0.6 * self.effort + 0.4 * client.effort, 0.9, 0, 10), "effort")
        effort = NOT_ANSWERED if flip(client.leaves_out, "na") else self.effort
        as_usual = flip(client.help_as_usual, "help")
        helped = client.help if as_usual else (client.help + draw([0.8, 0.2], "help", 1)) % 3
        if not flip(0.85, "skip"):
            self.skipped = sum(1 << n for n in range(16) if flip(client.skips[n], "skip"))
        return {"pain0": before, "pain1": after, "effort": effort, "help": helped, "skip": self.skipped}


def study_log(sessions: int, seed: int) -> tuple[Log, dict[str, float], Client]:
    """Draws a log in the study's fields; gives it with its account and its client."""
    practice = _Practice(seed)
    practice.run(sessions)
    return practice.log, practice.account.bits, practice.client


def session_log(sessions: int, seed: int) -> tuple[Log, float, float]:
    """Draws sessions of wattlebird.record/1; gives them and the oracle's bits, study's and further fields'."""
    study, bits, client = study_log(sessions, seed)
    account, choose = Account(seed + 777), random.Random(seed * 31 + 5)
    further = _Further(account, choose, client)
    log = [further.session(n, one) for n, one in enumerate(study, 1)]
    return log, sum(cost for field, cost in bits.items() if field not in _DROPPED), sum(account.bits.values())


class _Further:
    """Draws what a session of wattlebird.record/1 holds besides the study's fields."""

    def __init__(self, account: Account, choose: random.Random, client: Client) -> None:
        self.account, self.cycle_s = account, client.cycle_s
        self.period = round(choose.gauss(0, 3000))
        self.answers: int = choose.choices([0, 1, 2], [0.7, 0.2, 0.1])[0]
        self.taps: int = choose.choice([1, 2, 3])
        self.planned_s = 0

    def session(self, seq: int, one: dict[str, Any]) -> dict[str, Any]:
        """Makes one session."""
        if not one["end"] or not self.planned_s:
            self.planned_s = one["min"] * 60
        channels = 2 if one["int"][1] else 1
        skipped = [n + 1 for n in range(16) if one["skip"] >> n & 1]
        return {
            **common(seq, "session", one["start"], one["tz"]),
            "plan": 1,
            "version": one["planv"],
            "exercise": 1,
            "planned_s": self.planned_s,
            **self._course(one, channels),
            "pauses_n": one["pauses"],
            "strength_half_ma": one["int"][:channels],
            "skin_before": [min(g, 2) for g in one["pre"]],
            "skin_after": [post[0] for post in one["post"]],
            "pain_before_n": one["pain0"],
            "pain_after_n": one["pain1"],
            "effort_n": one["effort"],
            "help": one["help"],
            "steps_skipped": skipped,
            "note": one["note"],
        }

    def _course(self, one: dict[str, Any], channels: int) -> dict[str, Any]:
        draw, planned_s = self.account.draw, self.planned_s
        cued_s = min(planned_s, one["min"] * 60 + draw([1] * 60, "cued")) if one["end"] else planned_s
        done = cued_s // self.cycle_s
        if not self.account.flip(0.85, "con"):
            done = max(0, done - draw([0.5, 0.3, 0.2], "con2", 1))
        ended = draw([0.1, 0.1, 0.1, 0.3, 0.2, 0.2], "why", 2) if one["end"] else 1
        taps = max(0, self.taps + draw([0.15, 0.7, 0.15], "taps", -1))
        period = self.period + draw(bell(0, 60, -250, 250), "ppm", -250) if taps >= 2 else 1_000_000
        answered = self.answers if self.account.flip(0.93, "who") else draw([1 / 3] * 3, "who2")
        return {"cued_s": cued_s, "contractions_n": [done] * channels, "ended": ended, "taps_n": taps,
                "period_ppm": period, "answered_by": answered}  # fmt: skip


def timed(log: Log, seed: int) -> Log:
    """Adds the times of set-up as a phone notes them: nine steps, one of which takes longest on most days."""
    choose = random.Random(seed * 17 + 3)
    usual_s = [choose.choice([6, 9, 14, 20, 30]) for _ in range(8)] + [choose.choice([50, 75, 110])]
    choose.shuffle(usual_s)
    found = []
    for session in log:
        took_s = [max(2, round(each * choose.lognormvariate(0, 0.35))) for each in usual_s]
        longest_s = max(took_s)
        if longest_s < 60:  # the phone notes none below a minute
            found.append(session)
            continue
        times = {"longest_step": took_s.index(longest_s) + 1, "longest_step_s": longest_s, "set_up_s": sum(took_s)}
        found.append({**session, **times})
    return found


def common(seq: int, kind: str, at_min: int, utc_q: int) -> dict[str, Any]:
    """Gives the fields that every record has."""
    head = {"format": "wattlebird.record/1", "device": DEVICE}
    return {**head, "seq": seq, "kind": kind, "at_min": at_min, "utc_q": utc_q}
