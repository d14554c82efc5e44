"""Two plans side by side: versions of a client's plan, its draft, a starting point, another client's plan.

Another client's plan is read as that client's page is, and the trail says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from flask import render_template, request
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.guidance.starting_points import starting_points
from webapp.prescribing.checking import check_draft
from webapp.prescribing.comparing import differences
from webapp.prescribing.drafting import Known
from webapp.prescribing.issue import complete
from webapp.prescribing.known import read_known
from webapp.prescribing.starting import with_start
from webapp.serving import audit, database, now_ms, require, write
from webapp.serving import texts as translate
from webapp.storage import clients, drafts, plans
from webapp.storage import starting_points as kept
from webapp.storage.clients import Client
from webapp.therapist import blueprint
from webapp.therapist.plan import client_or_refuse, client_words, saved_draft

DRAFT, START, OTHER = "draft", "start:", "client:"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """Some of what can be compared: under which heading, and name by value."""

    heading: str
    names: dict[str, str]


@blueprint.get("/clients/<int:client_id>/plans/compare")
@require("therapist", "lead")
def compare_plans(client_id: int) -> ResponseReturnValue:
    client, db, code = client_or_refuse(client_id), database(), request.args.get("code", "").strip()
    other = clients.read_by_code(db, code) if code and code != client.code else None
    choices = list(_choices(client, other))
    own = [*choices[0].names]
    new = request.args.get("new", own[0])
    old = _known_choice(request.args.get("old", ""), other, own)
    names = {value: name for group in choices for value, name in group.names.items()}
    if old not in names or new not in names:
        raise refuse("not_found")
    known = read_known(db, client, now_ms())
    sides, exercises = _Sides(client, known, own[0]).read(old, new)
    theirs = OTHER in old + new
    if theirs and other:
        with write() as writing:
            audit(writing, "client_read", other.id, page="compare_plans", beside=client.code)
    found = differences(*sides, client_words(known), same_client=not theirs)
    return render_template("therapist/compare.html", client=client, choices=choices, names=names, old=old, new=new,
                           found=found, theirs=theirs, code=code, unknown=bool(code) and other is None,
                           planless=other.code if other and len(choices[1].names) == 0 else "",
                           codes=[one.code for one in clients.list_active(db) if one.id != client.id],
                           exercises=exercises, n=_asked_exercise(exercises))


def _known_choice(old: str, other: Client | None, own: list[str]) -> str:
    """Gives what was asked for; a code typed anew brings that client's newest plan, no choice the version before."""
    newest = plans.newest(database(), other.id) if other else None
    if other and newest and not old.startswith(f"{OTHER}{other.id}:"):
        return f"{OTHER}{other.id}:{newest.version}"
    gone = old.startswith(OTHER) and other is None
    return own[min(1, len(own) - 1)] if gone or not old else old


def _choices(client: Client, other: Client | None) -> Iterator[Choices]:
    t, db = translate(), database()
    versions = [one.version for one in plans.history(db, client.id)]
    begun = drafts.read(db, client.id) is not None or not versions
    own = ({DRAFT: t("compare.draft")} if begun else {}) | _versions("", versions)
    yield Choices(heading=t("compare.of_client", code=client.code), names=own)
    if other:
        theirs = _versions(f"{OTHER}{other.id}:", [one.version for one in plans.history(db, other.id)])
        yield Choices(heading=t("compare.of_client", code=other.code),
                      names={value: f"{other.code}, {name}" for value, name in theirs.items()})
    mine = {f"{START}own:{one.id}": one.name for one in kept.list_kept(db)}
    if mine:
        yield Choices(heading=t("compare.own_starts"), names=mine)
    published = {f"{START}{one.id}": f"{t(f'aim.{one.aim}')}: {t(f'starting.{one.id}')}"
                 for one in starting_points().values()}
    yield Choices(heading=t("compare.starts"), names=published)


def _versions(before: str, versions: list[int]) -> dict[str, str]:
    return {f"{before}{n}": translate()("compare.version", n=n) for n in versions}


def _asked_exercise(exercises: dict[int, str]) -> int:
    asked = request.args.get("exercise", 0, int)
    return asked if asked in exercises else min(exercises, default=1)


@dataclass(frozen=True, slots=True)
class _Sides:
    """Reads what is compared; a starting point is laid over the plan beside it, or over the client's own."""

    client: Client
    known: Known
    own: str

    def read(self, old: str, new: str) -> tuple[tuple[dict[str, Any], dict[str, Any]], dict[int, str]]:
        """Gives both plans, and the exercises that a starting point could be laid over."""
        beside = {old: new, new: old}
        under = {which: beside[which] if which.startswith(START) and not beside[which].startswith(START) else self.own
                 for which in (old, new)}
        base = next((self._plan(under[which]) for which in (old, new) if which.startswith(START)), None)
        titles = {one["exercise"]: str(one["title"]) for one in base["exercises"]} if base else {}
        n = _asked_exercise(titles)
        old_plan, new_plan = (
            with_start(base, n, which.removeprefix(START), self.known) if base and which.startswith(START)
            else self._plan(which) for which in (old, new))
        return (old_plan, new_plan), titles

    def _plan(self, which: str) -> dict[str, Any]:
        if which == DRAFT:
            return check_draft(saved_draft(self.client.id, self.known)[0], self.known).issued
        owner, _, version = which.removeprefix(OTHER).rpartition(":")
        found = plans.read_version(database(), int(owner or self.client.id), int(version))
        if found is None:
            raise refuse("not_found")
        return complete(found.issued)
