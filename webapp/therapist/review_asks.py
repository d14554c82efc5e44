"""What of a client's log needs an answer in words: all findings of one session in one place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from webapp.client_log import ClientLog
from webapp.practice.attention import URGENT, Reason, together
from webapp.practice.hold import holding
from webapp.practice.session import PAPER, Entry, Session
from webapp.practice.summary import skin_answers, title_of
from webapp.therapist.review_records import entry_text
from webapp.therapist.review_rests import not_told
from webapp.therapist.words import duration_words, kind_words, reason_words, skin_word, when_words
from webapp.translations import Translate

REST_OFFERED = frozenset({"pain", "above_ceiling", "unwell"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One finding that needs an answer."""

    device: str
    seq: int
    rule: str
    urgent: bool
    text: str
    details: tuple[str, ...]
    rests: bool = False  # an answer to it can end the rest
    may_rest: bool = False  # nothing rests by it yet: the therapist may let practice rest
    not_told: str = ""  # which of the client's phones do not know of the rest, in words


def asks(t: Translate, log: ClientLog) -> tuple[Ask, ...]:
    """Lists what needs an answer, the gravest first."""
    return tuple(_ask_all(t, log, group) for group in together(log.reasons))


def _ask_all(t: Translate, log: ClientLog, group: Sequence[Reason]) -> Ask:
    """Says everything of one session in one place; the gravest names it."""
    asks = [_ask(t, log, reason) for reason in group]
    rests, held = any(ask.rests for ask in asks), holding(log.holds, log.today)
    return replace(
        asks[0], text=". ".join(dict.fromkeys(ask.text for ask in asks)), rests=rests,
        urgent=any(ask.urgent for ask in asks), details=tuple(dict.fromkeys(line for a in asks for line in a.details)),
        not_told=" ".join(dict.fromkeys(ask.not_told for ask in asks if ask.not_told)),
        may_rest=not rests and not held and any(reason.rule in REST_OFFERED for reason in group))


def _ask(t: Translate, log: ClientLog, reason: Reason) -> Ask:
    device, seq = reason.key or ("", 0)
    session = next((s for s in (*log.log.sessions, *log.log.late_sessions, *log.log.paper)
                    if (s.entry.device, s.entry.seq) == (device, seq)), None)
    entry = next((e for e in (*log.log.looks, *log.log.findings, *log.log.others, *log.log.aside, *log.log.late)
                  if (e.device, e.seq) == (device, seq)), None)
    details = _session_details(t, log, session) if session else _entry_details(t, log, entry) if entry else ()
    looks = [e for e in log.log.looks if (e.device, e.seq) in {(d, s) for d, s, _rule in reason.more}]
    details = (*details, *(f"{when_words(t, e)}: {entry_text(t, log, e)}" for e in looks))
    rests = [r for r in log.rests if reason.rule in {"skin", "skin_stays"} and r.device == device]
    return Ask(device=device, seq=seq, rule=reason.rule, urgent=reason.rule in URGENT, text=reason_words(t, reason),
               details=details, rests=bool(rests),
               not_told=" ".join(line for rest in rests for line in not_told(t, log, rest)))


def _session_details(t: Translate, log: ClientLog, session: Session) -> tuple[str, ...]:
    about = t("review.session_of", when=when_words(t, session.entry), version=session.version,
              exercise=title_of(log.versions, session.exercise, session.version),
              minutes=duration_words(t, session.cued_s), ended=t(f"answer.ended.{session.ending}"))
    seen = [t("review.seen", moment=t(f"answer.moment.{a.moment}"), place=a.place or t("review.some_place"),
              skin=skin_word(t, a.answer))
            for a in skin_answers(session, log.versions)]
    paper = [t("review.paper_says")] if session.entry.road == PAPER else []
    return (about, *paper, *seen, *([t("review.wrote", note=session.note)] if session.note else []))


def _entry_details(t: Translate, log: ClientLog, entry: Entry) -> tuple[str, ...]:
    about = t("review.record_of", kind=kind_words(t, entry.kind), when=when_words(t, entry))
    return (about, entry_text(t, log, entry))
