"""Renders a pack: everything a phone needs for one version of one plan, as files named by their hash.

A pack is a pure function of the issued plan, the agreed days off, this release and the language: made again in a year
it has the same bytes.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from webapp.client.blobs import keep_blob
from webapp.client.pages import photo_path, photos_named, render_pages
from webapp.client.plain_scripts import without_comments
from webapp.client.reachable import named_in_page, reachable
from webapp.compiled_templates import PACK_PAGES
from webapp.exports.calendar import write_calendar
from webapp.issuing import PackContent, compile_pack
from webapp.settings import Settings, release, static_folder, template_folder
from webapp.storage import clinic, packs, pauses, photos, plans, recordings
from webapp.storage.database import Db, Store
from webapp.translations import Translate, catalogue, translator

FORMAT = "wattlebird.pack/1"
CALENDAR = "data/practice.ics"  # the planned sessions, for the client's own calendar
SCRIPT_KEYS = "phone."  # the catalogue's texts that scripts show
HTML = "text/html; charset=utf-8"
TYPES = {
    ".css": "text/css; charset=utf-8", ".ics": "text/calendar; charset=utf-8", ".jpg": "image/jpeg",
    ".js": "text/javascript; charset=utf-8", ".json": "application/json", ".mjs": "text/javascript; charset=utf-8",
    ".png": "image/png", ".svg": "image/svg+xml; charset=utf-8", ".txt": "text/plain; charset=utf-8",
    ".wav": "audio/wav", ".webmanifest": "application/manifest+json", ".woff2": "font/woff2",
}
ICONS = (("icons/icon-192.png", 192, "any"), ("icons/icon-512.png", 512, "any"),
         ("icons/icon-maskable-512.png", 512, "maskable"))
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackFile:
    """One file of a pack."""

    content: bytes
    type: str


def canonical(value: object) -> bytes:
    """Writes JSON so that the same value always has the same bytes."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def pack_environment(t: Translate, language: str) -> Environment:
    """Makes the environment that pack pages are rendered in: no request, no clock, links relative."""
    env = Environment(loader=FileSystemLoader(template_folder()), autoescape=True, undefined=StrictUndefined,
                      trim_blocks=True, lstrip_blocks=True, bytecode_cache=PACK_PAGES)
    env.globals.update(t=t, tn=lambda key, n, **values: t(key, n=n, **values), language=language,
                       static_url=lambda path: f"static/{path}")
    return env


def _json(value: object) -> PackFile:
    return PackFile(content=canonical(value), type=TYPES[".json"])


def web_manifest(t: Translate, language: str) -> PackFile:
    """Writes the neutral home-screen manifest: no token, no name, no code; its addresses are those of its own phone."""
    icons = [{"src": f"static/{path}", "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}
             for path, size, purpose in ICONS]
    content = {"name": t("app.name"), "short_name": t("app.name"), "lang": language, "start_url": "today",
               "scope": "./", "display": "standalone", "background_color": "#fbf6ea",
               "theme_color": "#12261e", "icons": icons}
    return PackFile(content=canonical(content), type=TYPES[".webmanifest"])


def _sounds(content: PackContent) -> Iterator[tuple[str, PackFile]]:
    described: dict[str, dict[str, object]] = {}
    for folder, clips in (("clips", content.clips), ("tones", content.tones)):
        for clip in clips:
            path = f"{folder}/{clip.id}.wav"
            described[clip.id] = {"file": path, "dur_ms": clip.dur_ms, "onset_ms": clip.onset_ms,
                                  "samples": clip.samples, "sr": content.sample_rate_hz}
            yield path, PackFile(content=clip.wav, type=TYPES[".wav"])
    yield "data/sounds.json", _json(described)


def _data(content: PackContent, language: str) -> Iterator[tuple[str, PackFile]]:
    yield "data/plan.json", _json(content.compiled)
    calendar = write_calendar(content.issued, translator(language), content.off)
    yield CALENDAR, PackFile(content=calendar, type=TYPES[".ics"])
    for sheet in content.cue_sheets:
        yield f"data/cues-{sheet['exercise']}.json", _json(sheet)
    texts = {key: text for key, text in catalogue(language).items() if key.startswith(SCRIPT_KEYS)}
    yield "data/strings.json", _json(texts)


def _statics(pages: Mapping[str, str]) -> Iterator[tuple[str, PackFile]]:
    starts = {path for path, _, _ in ICONS}.union(*map(named_in_page, pages.values()))
    for path in reachable(static_folder(), starts):
        content = (static_folder() / path).read_bytes()
        if path.endswith(".js"):
            content = without_comments(content.decode()).encode()
        yield f"static/{path}", PackFile(content=content, type=TYPES[Path(path).suffix])


def render_pack(content: PackContent, shown: Mapping[str, bytes] | None = None) -> dict[str, PackFile]:
    """Renders all files of a pack, by path; `shown` holds the files of the plan's photos that are kept, by hash."""
    kept = shown or {}
    language = str(content.issued["language"])
    t = translator(language)
    env = pack_environment(t, language)
    pages = render_pages(env, content.issued, content.compiled, t, cue_sheets=content.cue_sheets, photos=set(kept))
    files = {path: PackFile(content=page.encode(), type=HTML) for path, page in pages.items()}
    files["manifest.webmanifest"] = web_manifest(t, language)
    files.update(_data(content, language))
    files.update(_sounds(content))
    files.update(_statics(pages))
    files.update({photo_path(sha256): PackFile(content=jpeg, type=TYPES[".jpg"]) for sha256, jpeg in kept.items()})
    return dict(sorted(files.items()))


def write_manifest(content: PackContent, files: Mapping[str, PackFile]) -> tuple[str, str]:
    """Writes the manifest and names the pack: 32 hex digits of the SHA-256 of the manifest without the id."""
    issued = content.issued
    manifest: dict[str, Any] = {
        "format": FORMAT, "release": release(), "version": issued["version"], "language": issued["language"],
        "client_code": issued["client_code"], "files": {
            path: {"sha256": hashlib.sha256(file.content).hexdigest(), "bytes": len(file.content), "type": file.type}
            for path, file in files.items()}}
    pack_id = hashlib.sha256(canonical(manifest)).hexdigest()[:32]
    return canonical(manifest | {"pack_id": pack_id}).decode(), pack_id


def _kept_photos(db: Db, plan: plans.Plan) -> dict[str, bytes]:
    found = {sha256: photos.jpeg(db, plan.client_id, sha256) for sha256 in photos_named(plan.issued["exercises"])}
    return {sha256: jpeg for sha256, jpeg in found.items() if jpeg is not None}


def make_pack(
    db: Db, plan_id: int, progress: Progress, *, store: Store, settings: Settings, now_ms: Callable[[], int]
) -> None:
    """Makes the pack of an issued plan for this release: its files are kept first, then it is recorded."""
    plan = plans.read(db, plan_id)
    if plan is None:
        raise LookupError(f"no plan {plan_id}")
    content = compile_pack(plan.issued, settings.clips_dir, progress, partial(recordings.wav, db, plan.client_id),
                           pauses.off(db, plan.client_id), clinic.thresholds(db).pain_severe_n)
    files = render_pack(content, _kept_photos(db, plan))
    for file in files.values():
        keep_blob(settings.packs_dir, file.content)
    manifest, pack_id = write_manifest(content, files)
    with store.write(db):
        packs.add(db, plan_id, release(), pack_id, manifest, now_ms())


def plans_without_pack(db: Db, today: str) -> list[int]:
    """Lists the live plans that this release has not packed yet: after an upgrade, all of them."""
    return [plan.id for plan in plans.live(db, today) if packs.for_plan(db, plan.id, release()) is None]
