"""Photos of where the pads go, in a report: each only where the therapist chose it by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.client_log import ClientLog
from webapp.drawing.pads import PlacedPad
from webapp.drawing.picture import draw_on_photo
from webapp.exports.report import Mark, Photo, Report
from webapp.prescribing.placing import MARK, letter_of
from webapp.serving import database, texts
from webapp.storage import photos
from webapp.therapist.report_facts import Facts
from webapp.translations import Translate


def photos_of(log: ClientLog, t: Translate) -> list[Photo]:
    """Lists the photos of the plan that a client has now, each once."""
    issued: Mapping[str, Any] = log.plan.issued if log.plan else {"exercises": ()}
    found = {one.sha256: one for exercise in issued["exercises"] for one in _of_exercise(exercise, t)}
    return list(found.values())


def _of_exercise(exercise: Mapping[str, Any], t: Translate) -> Iterator[Photo]:
    for number, channel in enumerate(exercise["channels"], 1):
        if channel.get("photo") and isinstance(channel.get("photo_height"), int):
            marks = [Mark(letter=letter_of(number, n), x=pad["photo_x"], y=pad["photo_y"])
                     for n, pad in enumerate(channel["pads"])
                     if isinstance(pad.get("photo_x"), int) and isinstance(pad.get("photo_y"), int)]
            caption = t("placing.of_exercise", title=exercise["title"], name=channel["name"])
            yield Photo(sha256=channel["photo"], caption=caption, height=channel["photo_height"], marks=tuple(marks))


def chosen_photos(facts: Facts) -> tuple[Photo, ...]:
    """Gives the photos that were chosen."""
    return tuple(one for one in photos_of(facts.log, facts.t) if one.sha256 in facts.chosen.photos)


def shown_photos(report: Report, client_id: int) -> list[tuple[str, str]]:
    """Draws each photo of a report with its marks, under its caption; empty where it is no longer kept."""
    kept = kept_photos(report, client_id)
    return [(one.caption, _drawn(one, client_id) if one.sha256 in kept else "") for one in report.photos]


def _drawn(photo: Photo, client_id: int) -> str:
    marks = [PlacedPad(name=mark.letter, letter=mark.letter, x_mm=mark.x, y_mm=mark.y, width_mm=MARK, height_mm=MARK,
                       shape="round", channel=1, now=True) for mark in photo.marks]
    return draw_on_photo(f"/clinic/clients/{client_id}/photos/{photo.sha256}.jpg", photo.height, marks, texts())


def kept_photos(report: Report, client_id: int) -> dict[str, bytes]:
    """Gives the files of a report's photos that are still kept, by hash."""
    found = {one.sha256: photos.jpeg(database(), client_id, one.sha256) for one in report.photos}
    return {sha256: jpeg for sha256, jpeg in found.items() if jpeg is not None}
