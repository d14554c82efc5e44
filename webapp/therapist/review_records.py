"""Records in words: what each one says, of whatever kind it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from webapp.client_log import ClientLog
from webapp.practice.session import ENDINGS, WHYS, Entry
from webapp.practice.skin import NOT_ANSWERED, UNCHANGED
from webapp.practice.summary import places_of, title_of
from webapp.therapist.words import duration_words, skin_word
from webapp.translations import Translate


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherRecord:
    """One record that is no counted session; `mark` says what is wrong with it, "" nothing."""

    entry: Entry
    mark: str


def other_records(log: ClientLog, first: date, last: date) -> tuple[OtherRecord, ...]:
    """Lists the records of some days that are no counted session; what is marked is listed whenever it was."""
    known = [(e, "") for e in (*log.log.looks, *log.log.not_today, *log.log.findings, *log.log.changes, *log.log.packs)
             if first <= e.day <= last]
    marked = [*((e, "unknown") for e in log.log.others), *((e, "aside") for e in log.log.aside),
              *((e, "late") for e in log.log.late)]
    return tuple(OtherRecord(entry=e, mark=mark) for e, mark in sorted([*known, *marked], key=lambda p: -p[0].at_min))


def entry_text(t: Translate, log: ClientLog, entry: Entry) -> str:
    """Says what is in a record of any kind; of one that is not known, its fields as they came."""
    f = entry.fields
    if entry.kind == "skin_later":
        return _look_text(t, log, entry)
    if entry.kind == "not_today":
        why = f.get("why")
        word = WHYS[why] if isinstance(why, int) and 0 <= why < len(WHYS) else WHYS[0]
        return _with_note(t(f"answer.why.{word}"), f.get("note"))
    if entry.kind == "finding":
        skin = f.get("skin", NOT_ANSWERED)
        text = title_of(log.versions, _number(f.get("exercise")))
        return _with_note(": ".join(filter(None, [text, skin_word(t, _number(skin))])), f.get("note"))
    if entry.kind == "changed":
        return t(f"answer.changed.{min(max(_number(f.get('what')), 0), 3)}", version=f.get("version", ""))
    if entry.kind == "pack_taken":
        return t("review.took_version", version=f.get("version", ""))
    if entry.kind == "session":
        return t("review.session_short", minutes=duration_words(t, _number(f.get("cued_s"))),
                 ended=t(f"answer.ended.{ENDINGS[_number(f.get('ended'))]}" if _number(f.get("ended")) < len(ENDINGS)
                         else "answer.ended.unknown"))
    return ", ".join(f"{name}: {value}" for name, value in sorted(f.items()) if name not in _IDENTITY)


def _look_text(t: Translate, log: ClientLog, entry: Entry) -> str:
    """Says what was seen later, at the places that were not unchanged."""
    moment = t(f"answer.moment.{'morning' if entry.fields.get('when') == 2 else 'hour'}")
    key = (entry.device, entry.fields.get("session_seq"))
    session = next((s for s in log.log.sessions if (s.entry.device, s.entry.seq) == key), None)
    places = places_of(session, log.versions) if session else ()
    found = [t("review.seen", moment=moment, place=places[n] if n < len(places) else n + 1, skin=skin_word(t, answer))
             for n, answer in enumerate(entry.fields.get("skin", ()))
             if isinstance(answer, int) and answer != UNCHANGED]
    return "; ".join(found) or t("review.look", moment=moment, skin=skin_word(t, UNCHANGED))


_IDENTITY = {"format", "device", "seq", "kind", "at_min", "utc_q"}


def _number(value: object) -> int:
    return value if isinstance(value, int) and not isinstance(value, bool) else 0


def _with_note(text: str, note: object) -> str:
    return f"{text}: {note}" if note else text
