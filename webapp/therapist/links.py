"""Letting phones in and signing them off: one action each."""

from __future__ import annotations

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue

from webapp.errors import refuse
from webapp.serving import audit, database, now_ms, require, write
from webapp.serving import texts as translate
from webapp.storage import devices, links, plans
from webapp.therapist import blueprint
from webapp.therapist.holding import refuse_if_stopped
from webapp.therapist.link_codes import make_link, shown_codes
from webapp.therapist.plan import client_or_refuse


def _newest(client_id: int) -> plans.Plan:
    client_or_refuse(client_id)
    plan = plans.newest(database(), client_id)
    if plan is None:
        raise refuse("not_found")
    return plan


def _back(client_id: int) -> ResponseReturnValue:
    version = request.form.get("version", _newest(client_id).version, int)
    return redirect(url_for("therapist.issued", client_id=client_id, version=version), 303)


@blueprint.post("/clients/<int:client_id>/links/new")
@require("therapist", "lead")
def new_link(client_id: int) -> ResponseReturnValue:
    plan = _newest(client_id)
    refuse_if_stopped(client_id)
    with write() as db:
        make_link(db, client_id, plan.issued["last_day"])
    return _back(client_id)


@blueprint.post("/clients/<int:client_id>/links/<int:link_id>/withdraw")
@require("therapist", "lead")
def withdraw_link(client_id: int, link_id: int) -> ResponseReturnValue:
    found = links.read(database(), link_id)
    if found is None or found.client_id != client_id:
        raise refuse("not_found")
    with write() as db:
        links.withdraw(db, link_id, now_ms())
        audit(db, "link_withdrawn", client_id, link=link_id)
    shown_codes().forget(link_id)
    flash(translate()("issued.withdrawn"))
    return _back(client_id)


@blueprint.post("/clients/<int:client_id>/devices/<device>/revoke")
@require("therapist", "lead")
def revoke_device(client_id: int, device: str) -> ResponseReturnValue:
    found = devices.by_id(database(), device)
    if found is None or found.client_id != client_id:
        raise refuse("not_found")
    with write() as db:
        devices.revoke(db, device, now_ms())
        audit(db, "device_revoked", client_id, device=device)
    flash(translate()("issued.revoked"))
    return _back(client_id)
