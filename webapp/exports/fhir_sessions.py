"""What was done at home in FHIR: a procedure for each session, an observation for each fact, the questions answered."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone

from webapp.exports.fhir_codes import LOINC, OWN, PAIN, Resource, concept, quantity
from webapp.exports.fhir_facts import FhirFacts, Named, Names
from webapp.practice.adherence import is_done
from webapp.practice.session import HELP, PAPER, SKIN, Entry, Session
from webapp.practice.skin import NOT_ANSWERED
from webapp.practice.summary import places_of
from webapp.translations import Translate

QUESTIONNAIRE = "urn:wattlebird:questionnaire:session"
STATUS = {"done": "completed", "unknown": "unknown"}  # every other ending is a session that was stopped
SCALES = ("pain_before", "pain_after", "effort")
MOMENTS = ("before", "after")


def moment_of(entry: Entry) -> str:
    """Writes the local moment of a record with its offset from UTC, as FHIR's dateTime."""
    zone = timezone(timedelta(minutes=15 * entry.utc_q))
    local = datetime.fromtimestamp(entry.at_min * 60, UTC).replace(tzinfo=zone)
    return local.isoformat()


def session_resources(facts: FhirFacts, names: Names) -> list[Named]:
    """Writes every counted session, and the shares over the whole period as the review shows them."""
    return [(names.of("questionnaire"), questionnaire(facts.t, words=facts.words)),
            *(named for session in facts.sessions for named in _session(facts, names, session)),
            *_shares(facts, names)]


def _session(facts: FhirFacts, names: Names, session: Session) -> Iterator[Named]:
    key = (session.entry.device, session.entry.seq)
    procedure = names.reference("session", *key)
    yield names.of("session", *key), _procedure(facts, names, session)
    for code, fields in _facts(facts, session):
        yield names.of("fact", *key, code), {
            "resourceType": "Observation", "status": "final", "subject": names.subject, "partOf": [procedure],
            "effectiveDateTime": moment_of(session.entry), **fields}
    yield names.of("answers", *key), _answers(facts, names, session)


def _procedure(facts: FhirFacts, names: Names, session: Session) -> Resource:
    t = facts.t
    procedure: Resource = {
        "resourceType": "Procedure", "status": STATUS.get(session.ending, "stopped"),
        "code": concept("home-session", t("fhir.home_session")), "subject": names.subject,
        "performedDateTime": moment_of(session.entry), "usedReference": [names.reference("unit")]}
    if procedure["status"] == "stopped":
        procedure["statusReason"] = concept(f"ended-{session.ending}".replace("_", "-"),
                                            t(f"answer.ended.{session.ending}"))
    if any(v.version == session.version and v.exercise(session.exercise) for v in facts.versions):
        procedure["basedOn"] = [names.reference("order", session.version, session.exercise)]
    if session.entry.road == PAPER or not is_done(session):
        procedure["outcome"] = concept("not-counted", t("fhir.not_counted"))
    if facts.words and session.note:
        procedure["note"] = [{"text": session.note}]
    return procedure


def _facts(facts: FhirFacts, session: Session) -> Iterator[tuple[str, Resource]]:
    """Lists one observation for each fact of a session; what was not answered is none."""
    t = facts.t
    yield "minutes", _measured(concept("minutes-cued", t("fhir.minutes_cued")), round(session.cued_s / 60, 2), "min")
    for n, count in enumerate(session.contractions, 1):
        yield f"contractions-{n}", _measured(
            concept(f"contractions-{n}", t("fhir.contractions", channel=n)), count, "{contractions}")
    for n, strength in enumerate(session.strength, 1):
        if strength is not None:
            unit = "mA" if session.shows == "ma" else "{level}"
            yield f"strength-{n}", _measured(concept(f"strength-{n}", t("fhir.strength", channel=n)), strength, unit)
    for name in SCALES:
        value = getattr(session, name)
        if value is not None:
            yield name, _scale(t, name, value)
    yield from _skin(facts, session)
    if session.help is not None:
        word = HELP[min(session.help, 3)]
        yield "help", {"code": concept("help", t("fhir.help")),
                       "valueCodeableConcept": concept(f"help-{word}".replace("_", "-"), t(f"answer.help.{word}"))}


def _measured(code: Resource, value: float, unit: str) -> Resource:
    return {"code": code, "valueQuantity": quantity(value, unit)}


def _scale(t: Translate, name: str, value: int) -> Resource:
    """Gives an answer from 0 to 10: pain by its LOINC code and ours for the moment, the number as a quantity."""
    own = concept(name.replace("_", "-"), t(f"fhir.{name}"))
    if name.startswith("pain"):
        own["coding"].insert(0, {"system": LOINC, "code": PAIN[0], "display": PAIN[1]})
    return {"code": own, "valueQuantity": quantity(value, "{score}")}


def _skin(facts: FhirFacts, session: Session) -> Iterator[tuple[str, Resource]]:
    places = places_of(session, facts.versions)
    for moment, answers in zip(MOMENTS, (session.skin_before, session.skin_after), strict=True):
        for n, answer in enumerate(answers):
            if answer != NOT_ANSWERED:
                yield f"skin-{moment}-{n}", {
                    "code": concept(f"skin-{moment}", facts.t(f"fhir.skin_{moment}")),
                    "bodySite": {"text": places[n] if n < len(places) else str(n + 1)},
                    "valueCodeableConcept": _skin_concept(facts.t, answer)}


def _skin_concept(t: Translate, answer: int) -> Resource:
    word = (SKIN[answer] if 0 <= answer < len(SKIN) else "") or "not_answered"
    return concept(f"skin-{word}".replace("_", "-"), t(f"answer.skin.{word}"))


def questionnaire(t: Translate, *, words: bool) -> Resource:
    """Writes the questions that the phone asks; a linkId never changes its meaning."""
    def item(link_id: str, kind: str) -> Resource:
        return {"linkId": link_id, "text": t(f"fhir.{link_id.replace('-', '_')}"), "type": kind}

    skin = [item("skin-before", "choice") | {"repeats": True}, item("skin-after", "choice") | {"repeats": True}]
    scales = [item(name.replace("_", "-"), "integer") for name in SCALES]
    return {"resourceType": "Questionnaire", "url": QUESTIONNAIRE, "status": "active",
            "title": t("fhir.questionnaire"),
            "item": [*skin, *scales, item("help", "choice"), *([item("note", "text")] if words else [])]}


def _answers(facts: FhirFacts, names: Names, session: Session) -> Resource:
    t = facts.t
    items: list[Resource] = [
        {"linkId": f"skin-{moment}", "answer": [{"valueCoding": _skin_concept(t, a)["coding"][0]} for a in answers]}
        for moment, answers in zip(MOMENTS, (session.skin_before, session.skin_after), strict=True) if answers]
    items += [{"linkId": name.replace("_", "-"), "answer": [{"valueInteger": value}]}
              for name in SCALES if (value := getattr(session, name)) is not None]
    if session.help is not None:
        word = HELP[min(session.help, 3)]
        coding = {"system": OWN, "code": f"help-{word}".replace("_", "-"), "display": t(f"answer.help.{word}")}
        items.append({"linkId": "help", "answer": [{"valueCoding": coding}]})
    if facts.words and session.note:
        items.append({"linkId": "note", "answer": [{"valueString": session.note}]})
    return {"resourceType": "QuestionnaireResponse", "questionnaire": QUESTIONNAIRE, "status": "completed",
            "subject": names.subject, "authored": moment_of(session.entry), **({"item": items} if items else {}),
            "partOf": [names.reference("session", session.entry.device, session.entry.seq)]}


def _shares(facts: FhirFacts, names: Names) -> Iterator[Named]:
    """Gives session and minute adherence over the period: the review's numbers, with their counts as components."""
    total, summary, t = facts.summary.total, facts.summary, facts.t
    for name, share in (("sessions_share", total.sessions_share), ("minutes_share", total.minutes_share)):
        if share is None:
            continue
        counts = ((("done", total.done_n, "{sessions}"), ("due", total.due_n, "{sessions}"))
                  if name == "sessions_share" else
                  (("done", round(total.counted_s / 60, 2), "min"), ("due", round(total.due_s / 60, 2), "min")))
        yield names.of(name), {
            "resourceType": "Observation", "status": "final", "subject": names.subject,
            "effectivePeriod": {"start": summary.first.isoformat(), "end": summary.last.isoformat()},
            **_measured(concept(name.replace("_", "-"), t(f"fhir.{name}")), round(100 * share, 1), "%"),
            "component": [_measured(concept(f"{name.split('_')[0]}-{part}", t(f"fhir.{part}")), value, unit)
                          for part, value, unit in counts]}
