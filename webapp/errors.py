"""The catalogue of refusals: a code, an HTTP status and the parameters that its sentence may use."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True, kw_only=True)
class Refusal(Exception):  # noqa: N818 - a refusal is an answer, not a fault
    """Something asked for that is not done; `code` names its text `error.<code>` in the key catalogue."""

    code: str
    status: int = 400
    params: dict[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        return self.code


REFUSALS: dict[str, int] = {
    "not_found": 404, "not_signed_in": 401, "not_allowed": 403, "form_expired": 400, "not_from_here": 403,
    "bad_request": 400, "too_large": 413, "too_many_tries": 429,
    "method": 405, "server": 500, "link_unknown": 404, "link_withdrawn": 410, "link_used_up": 410, "link_ended": 410,
    "device_unknown": 401, "device_revoked": 403, "seal_wrong": 401, "message_malformed": 400, "pack_not_ready": 409,
    "store_full": 503, "store_read_only": 503, "store_busy": 503, "draft_changed": 409, "plan_has_stops": 409,
    "plan_not_ready": 409, "plan_stopped": 409, "practice_stopped": 409, "photo_not_read": 422, "photo_too_big": 413,
    "photo_too_large": 422, "photo_too_small": 422,
}


def refuse(code: str, **params: object) -> Refusal:
    """Makes the refusal of a code in the catalogue."""
    return Refusal(code=code, status=REFUSALS[code], params=params)
