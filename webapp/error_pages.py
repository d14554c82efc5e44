"""Turns every refusal and failure into a page for people, or JSON where a program asks."""

from __future__ import annotations

from flask import Flask, current_app, g, render_template, request
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFError  # type: ignore[import-untyped]
from werkzeug.exceptions import HTTPException, InternalServerError

from webapp.clinic_guard import in_clinic
from webapp.errors import Refusal, refuse
from webapp.serving import current_user, keep_form, texts
from webapp.storage.database import CannotStoreError

CODES_OF_STATUS = {400: "bad_request", 401: "not_signed_in", 403: "not_allowed", 404: "not_found", 405: "method",
                   413: "too_large", 429: "too_many_tries"}


def answers_json() -> bool:
    """Tells whether it is a phone's script that asks, not a person."""
    path = request.path
    if path.startswith("/exchange/") or path in {"/join/activate", "/rehearse/start"}:
        return True
    return path.startswith("/my/") and ("/pack/" in path or request.method == "POST")


def _answer(refusal: Refusal) -> ResponseReturnValue:
    if answers_json():
        return {"error": refusal.code, **refusal.params}, refusal.status
    t = texts()
    page = render_template("error.html", title=t(f"error.{refusal.code}", **refusal.params),
                           advice=t(f"error.{refusal.code}.do", **refusal.params), in_clinic=in_clinic(request.path),
                           status=refusal.status, form_kept=g.get("form_kept", False))
    return page, refusal.status


def _form_expired(_error: CSRFError) -> ResponseReturnValue:
    """Keeps what was typed on a page whose form token is no longer this sign-in's."""
    if in_clinic(request.path) and current_user() is not None:
        keep_form()
        g.form_kept = True
    return _answer(refuse("form_expired"))


def _cannot_store(error: CannotStoreError) -> ResponseReturnValue:
    current_app.logger.error("%s %s: the database cannot take it: %s", request.method, request.endpoint, error.reason)
    return _answer(refuse(f"store_{error.reason}"))


def _http_error(error: HTTPException) -> ResponseReturnValue:
    if isinstance(error, InternalServerError) and isinstance(error.original_exception, CannotStoreError):
        return _cannot_store(error.original_exception)
    if error.response is not None or error.code is None or error.code < 400:
        return error
    code = CODES_OF_STATUS.get(error.code, "server" if error.code >= 500 else "bad_request")
    answer = _answer(Refusal(code=code, status=error.code))
    allowed = [(name, value) for name, value in error.get_headers() if name in {"Allow", "Retry-After"}]
    return (*answer, dict(allowed)) if isinstance(answer, tuple) else answer


def _failure(error: Exception) -> ResponseReturnValue:
    current_app.logger.error("%s %s failed", request.method, request.endpoint, exc_info=error)
    return _answer(refuse("server"))


def handle_errors(app: Flask) -> None:
    """Registers the pages; the text of an exception is never shown, it may hold what a person typed."""
    app.register_error_handler(Refusal, _answer)
    app.register_error_handler(CSRFError, _form_expired)
    app.register_error_handler(CannotStoreError, _cannot_store)
    app.register_error_handler(HTTPException, _http_error)
    app.register_error_handler(Exception, _failure)
