"""Puts the app together: settings, sessions, guards, headers, pages."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from urllib.parse import urlsplit

from flask import Flask, Response, redirect, request
from flask_wtf import CSRFProtect  # type: ignore[import-untyped]
from werkzeug.middleware.proxy_fix import ProxyFix

from webapp import client, exchange, static_files, therapist
from webapp.caseload_rows import refresh_outdated
from webapp.client.listening import job_kind, make_sounds
from webapp.client.packing import make_pack, plans_without_pack
from webapp.clinic_guard import forget_kept_form, guard
from webapp.compiled_templates import PAGES
from webapp.error_pages import handle_errors
from webapp.jobs import Progress, Worker
from webapp.practice.session import local_date
from webapp.security_headers import security_headers
from webapp.server_sessions import ServerSessions
from webapp.serving import Practice, attach, current_user, database, settings, texts, wall_clock_ms
from webapp.settings import LOOPBACK, Settings, template_folder
from webapp.speech.session_sound import CHOICES, Choice
from webapp.storage import clinic, jobs
from webapp.storage.database import Db, Store


def create_app(settings: Settings, now_ms: Callable[[], int] = wall_clock_ms, start_worker: bool = True) -> Flask:
    """Makes the app of one practice; `now_ms` is the clock it goes by, the worker makes packs beside it."""
    app = Flask("webapp", static_folder=None, template_folder=str(template_folder()))
    _configure(app, settings)
    store = Store(settings.database_path)
    attach(app, Practice(settings=settings, store=store, now_ms=now_ms))
    app.extensions["wattlebird_worker"] = worker = _worker(store, settings, now_ms)
    app.session_interface = ServerSessions()
    guard(app)
    csrf = CSRFProtect(app)
    app.before_request(forget_kept_form)
    for open_part in (client.blueprint, exchange.blueprint):  # no cookie has a say there: what is asked is sealed
        csrf.exempt(open_part)
    for part in (static_files.blueprint, therapist.blueprint, client.blueprint, exchange.blueprint):
        app.register_blueprint(part)
    app.add_url_rule("/", "first_page", lambda: redirect("/clinic/", 303))
    _teach_templates(app)
    handle_errors(app)
    app.after_request(_harden)
    if settings.trusted_proxies:
        app.wsgi_app = ProxyFix(app.wsgi_app, *[settings.trusted_proxies] * 3)  # type: ignore[method-assign]
    if start_worker:
        _queue_missing_packs(store, now_ms)
        worker.start()
    return app


def _worker(store: Store, settings: Settings, now_ms: Callable[[], int]) -> Worker:
    def pack(db: Db, plan_id: int, progress: Progress) -> None:
        make_pack(db, plan_id, progress, store=store, settings=settings, now_ms=now_ms)

    def sounds(choice: Choice, db: Db, plan_id: int, progress: Progress) -> None:
        make_sounds(db, plan_id, progress, choice=choice, store=store, settings=settings, now_ms=now_ms)

    def keep_caseload(db: Db) -> None:
        refresh_outdated(db, partial(store.write, db), None, now_ms())

    listening = {job_kind(choice): partial(sounds, choice) for choice in CHOICES}
    return Worker(store, {"make_pack": pack, **listening}, now_ms, between=keep_caseload)


def _queue_missing_packs(store: Store, now_ms: Callable[[], int]) -> None:
    """Queues the live plans that this release has not packed yet: after an upgrade, all of them."""
    db = store.connect()
    today = local_date(now_ms(), clinic.read(db).zone)
    with store.write(db):
        for plan_id in plans_without_pack(db, today.isoformat()):
            jobs.add(db, "make_pack", plan_id, now_ms())
    db.close()


def _configure(app: Flask, settings: Settings) -> None:
    address = urlsplit(settings.public_url)
    host = address.hostname or ""
    app.config.update(
        SECRET_KEY=settings.secret_key, SERVER_NAME=address.netloc, PREFERRED_URL_SCHEME=address.scheme,
        TRUSTED_HOSTS=sorted(LOOPBACK | {host}) if host in LOOPBACK else [host],
        MAX_CONTENT_LENGTH=settings.form_body_bytes, MAX_FORM_MEMORY_SIZE=settings.form_body_bytes,
        MAX_FORM_PARTS=5_000, WTF_CSRF_TIME_LIMIT=None,  # a form token lives as long as its sign-in
    )


def _teach_templates(app: Flask) -> None:
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True
    app.jinja_env.bytecode_cache = PAGES
    app.jinja_env.globals.update(
        t=lambda key, **values: texts()(key, **values), tn=lambda key, n, **values: texts()(key, n=n, **values),
        static_url=static_files.static_url, current_user=current_user,
        clinic_name=lambda: clinic.read(database()).name)


def _harden(response: Response) -> Response:
    """Adds the headers that every response carries, errors too, and keeps all else out of caches by default."""
    for name, value in security_headers(settings().https).items():
        response.headers.setdefault(name, value)
    if request.path.startswith("/clinic") or "Cache-Control" not in response.headers:
        response.headers["Cache-Control"] = "no-store"
    return response
