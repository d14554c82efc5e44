"""Seeded logs with every kind of record between the sessions, clients with two exercises and units that show levels."""

from __future__ import annotations

import random
from typing import Any

from tests.bench.synthetic_log import NOT_ANSWERED, Log, common, session_log
from tests.bench.synthetic_note import make_note


def mixed_log(sessions: int, seed: int) -> Log:
    """Draws a log of every kind; its seqs count from 1."""
    drawn, _, _ = session_log(sessions, seed)
    life = _Life(random.Random(seed * 101 + 7))
    for session in drawn:
        life.go_on(session)
    return life.log


class _Life:
    """What happens round the sessions of one client."""

    def __init__(self, choose: random.Random) -> None:
        self.choose = choose
        self.exercises = choose.choice([1, 1, 1, 2])
        self.shows_level = choose.random() < 0.25
        self.version = 0
        self.log: Log = []

    def go_on(self, session: dict[str, Any]) -> None:
        """Adds a session with what came before and after it."""
        at_min, utc_q, chance = session["at_min"], session["utc_q"], self.choose.random
        if session["version"] != self.version:
            self._change_plan(session)
        if chance() < 0.05:
            self._add(
                "changed", at_min - 4, utc_q, what=self.choose.choice([1, 1, 2]), version=self.version, by=self._by()
            )
        if chance() < 0.06:
            note = make_note(self.choose) if chance() < 0.3 else ""
            day = at_min - self.choose.randrange(600, 1500)
            self._add("not_today", day, utc_q, exercise=0, why=self.choose.randrange(1, 8), note=note)
        added = self._add("session", at_min, utc_q, **self._as_done(session))
        self._look_again(added)
        if chance() < 0.02:
            self._find(at_min + 200, utc_q)
        if chance() < 0.02:
            fields = {"pain_after_n": self.choose.randrange(11)}
            self._add("correction", at_min + 30, utc_q, corrects_seq=added["seq"], fields=fields)

    def _add(self, kind: str, at_min: int, utc_q: int, **fields: Any) -> dict[str, Any]:
        self.log.append({**common(len(self.log) + 1, kind, at_min, utc_q), **fields})
        return self.log[-1]

    def _by(self) -> int:
        return self.choose.choices([0, 1, 2, 3], [0.6, 0.2, 0.15, 0.05])[0]

    def _change_plan(self, session: dict[str, Any]) -> None:
        self.version = session["version"]
        pack = f"{self.choose.getrandbits(128):032x}"
        self._add("pack_taken", session["at_min"] - 9, session["utc_q"], version=self.version, pack=pack)
        if self.version > 1:
            fields = {"what": 3, "version": self.version, "by": self._by()}
            self._add("changed", session["at_min"] - 8, session["utc_q"], **fields)

    def _as_done(self, session: dict[str, Any]) -> dict[str, Any]:
        fields = {
            name: session[name] for name in session.keys() - {"format", "device", "seq", "kind", "at_min", "utc_q"}
        }
        if self.shows_level:
            fields["strength_level"] = [value // 3 for value in fields.pop("strength_half_ma")]
        if self.exercises == 2 and self.choose.random() < 0.5:
            fields["exercise"] = 2
            fields["contractions_n"] = [count * 2 // 3 for count in fields["contractions_n"]]
        return fields

    def _look_again(self, session: dict[str, Any]) -> None:
        skin = session["skin_after"]
        if not any(skin):
            return
        for when, later, chance in ((1, 65, 0.6), (2, 900, 0.2)):
            if self.choose.random() < chance:
                now = [grade if self.choose.random() < 0.1 else 0 for grade in skin]
                at_min = session["at_min"] + session["planned_s"] // 60 + later + self.choose.randrange(30)
                self._add("skin_later", at_min, session["utc_q"], session_seq=session["seq"], when=when, skin=now)

    def _find(self, at_min: int, utc_q: int) -> None:
        what = self.choose.choice([1, 2, 3])
        answers = {
            "place_n": self.choose.randrange(4) if what == 1 else 99,
            "skin": self.choose.randrange(1, 6) if what == 1 else 9,
            "pain_n": self.choose.randrange(2, 9) if what == 2 else NOT_ANSWERED,
        }
        self._add("finding", at_min, utc_q, exercise=0, what=what, note=make_note(self.choose), **answers)
