"""What a phone proves itself by: a seal on what it sends, a cookie for the pack files alone."""

from __future__ import annotations

import hmac

from flask import Response, request

from webapp import sealing
from webapp.errors import refuse
from webapp.serving import database, settings
from webapp.storage import devices
from webapp.storage.devices import Device

SEAL_HEADER = "Wattlebird-Seal"
YEAR_S = 31_536_000


def sealed_device(device: Device | None, body: bytes, purpose: sealing.Purpose) -> Device:
    """Gives the device that sealed a body for a purpose, or refuses."""
    if device is None:
        raise refuse("device_unknown")
    given = request.headers.get(SEAL_HEADER, "")
    if not sealing.seal_is_right(sealing.derive(device.device_key, purpose), body, given):
        raise refuse("seal_wrong")
    return device


def cookie_name(handle: str) -> str:
    """Names a phone's cookie; two clients on one phone have two."""
    return f"wattlebird_{handle[:8]}"


def give_cookie(response: Response, handle: str, value: str) -> None:
    """Sets the cookie that fetches pack files; only its hash is stored here."""
    response.set_cookie(cookie_name(handle), value, path=f"/my/{handle}/", max_age=YEAR_S, httponly=True,
                        secure=settings().https, samesite="Lax")


def cookie_device(handle: str) -> Device | None:
    """Gives the device of a handle if this request carries its cookie."""
    device = devices.by_handle(database(), handle)
    given = request.cookies.get(cookie_name(handle), "")
    if device is None or not given or not hmac.compare_digest(sealing.sha256_hex(given), device.cookie_sha256):
        return None
    return device
