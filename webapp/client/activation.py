"""Who is let in: a link's token, the ten typed characters, or a re-join token becomes one more device."""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from typing import Any

from webapp import sealing
from webapp.errors import refuse
from webapp.storage import clients, devices, links, packs, records
from webapp.storage.database import Db
from webapp.storage.devices import Device
from webapp.storage.links import Link
from webapp.storage.packs import Pack

TRIES_A_MINUTE = 10
MINUTE_MS = 60_000
TYPED_LENGTH = 10
_LOOKS_LIKE = str.maketrans("ILO", "110")  # Crockford's base32 reads these letters as the digits they look like


@dataclass(frozen=True, slots=True, kw_only=True)
class Admission:
    """One device that was let in, and what only its own phone is told."""

    device: Device
    cookie: str
    first_name: str
    code: str
    pack: Pack
    epoch: str

    def answer(self) -> dict[str, Any]:
        """Gives the activation's answer; the device key is in this one answer and nowhere else."""
        return {"device": self.device.device, "handle": self.device.handle,
                "device_key": base64.b64encode(self.device.device_key).decode(), "first_name": self.first_name,
                "code": self.code, "pack_id": self.pack.pack_id, "version": self.pack.version,
                "store_epoch": self.epoch}


def typed_characters(given: str) -> str:
    """Gives the ten characters as they are hashed: case, spaces and look-alikes do not matter."""
    return re.sub(r"[^0-9A-Z]", "", given.upper()).translate(_LOOKS_LIKE)


def limit_tries(db: Db, address: str, at_ms: int) -> None:
    """Counts a try of an address and refuses after ten in a minute."""
    if devices.count_try(db, f"join {address}", at_ms // MINUTE_MS) > TRIES_A_MINUTE:
        raise refuse("too_many_tries")


def usable_link(link: Link | None, at_ms: int) -> Link:
    """Gives the link if a phone can get in by it, or says why not."""
    if link is None:
        raise refuse("link_unknown")
    if link.withdrawn_ms is not None:
        raise refuse("link_withdrawn")
    if at_ms >= link.ends_ms:
        raise refuse("link_ended")
    if link.uses_left <= 0:
        raise refuse("link_used_up")
    return link


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """Who asks: what the phone calls itself, the hash of its request with what it offered, the handle it had before.

    The last two are "" where the phone says nothing of them.
    """

    kind: str
    at_ms: int
    request_sha256: str = ""
    was: str = ""


def let_in_before(db: Db, asking: Asking) -> Admission | None:
    """Gives the device that this very request has let in already, where the phone never heard the answer.

    A phone that has spoken since has heard it: then nobody is told the key again.
    """
    device = devices.by_request(db, asking.request_sha256) if asking.request_sha256 else None
    if device is None:
        return None
    if device.seen_ms is not None or device.revoked:
        raise refuse("link_used_up")
    cookie = sealing.new_cookie()
    devices.set_cookie(db, device.device, sealing.sha256_hex(cookie))
    return _admission(db, device, cookie)


def by_link(db: Db, link: Link | None, asking: Asking) -> Admission:
    """Lets one more device in by a link, inside the caller's write transaction."""
    found = usable_link(link, asking.at_ms)
    admission = _admit(db, found.client_id, found.id, asking)
    links.use(db, found.id)
    return admission


def by_rejoin(db: Db, token: str, asking: Asking) -> Admission:
    """Lets the installed app of a phone in by the token that its own page asked for; the token works once."""
    hashed = sealing.sha256_hex(token)
    before = devices.by_rejoin_token(db, hashed)
    if before is None:
        raise refuse("link_unknown")
    if before.revoked:
        raise refuse("device_revoked")
    if before.rejoin_ends_ms is None or asking.at_ms >= before.rejoin_ends_ms:
        raise refuse("link_ended")
    devices.set_rejoin(db, before.device, None, None)
    return _admit(db, before.client_id, before.link_id, asking)


def _admit(db: Db, client_id: int, link_id: int | None, asking: Asking) -> Admission:
    pack = packs.newest_for_client(db, client_id)
    if pack is None:
        raise refuse("pack_not_ready")
    cookie = sealing.new_cookie()
    device = Device(
        device=sealing.new_device(), client_id=client_id, link_id=link_id, handle=sealing.new_handle(),
        device_key=sealing.new_device_key(), cookie_sha256=sealing.sha256_hex(cookie), rejoin_sha256=None,
        rejoin_ends_ms=None, kind=asking.kind, made_ms=asking.at_ms, seen_ms=None, pack_id=pack.pack_id,
        revoked_ms=None, request_sha256=asking.request_sha256 or None, replaces=_before(db, client_id, asking.was))
    devices.add(db, device)
    return _admission(db, device, cookie)


def _before(db: Db, client_id: int, handle: str) -> str | None:
    """Finds the device that a phone of the same client was, by the handle that is left on it."""
    device = devices.by_handle(db, handle)
    return device.device if device and device.client_id == client_id and not device.is_paper else None


def _admission(db: Db, device: Device, cookie: str) -> Admission:
    client, pack = clients.read(db, device.client_id), packs.newest_for_client(db, device.client_id)
    if client is None or pack is None:
        raise refuse("link_unknown")
    return Admission(device=device, cookie=cookie, first_name=client.first_name, code=client.code, pack=pack,
                     epoch=records.store_epoch(db))
