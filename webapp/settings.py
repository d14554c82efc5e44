"""Every setting of an installation: its name, type, default and reason."""

from __future__ import annotations

import hashlib
import os
import tomllib
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

PACKAGE = Path(__file__).resolve().parent
LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What an installation is told; a field's comment says why it can be set."""

    data_dir: Path  # database, packs, backups and clips: one folder to keep safe
    public_url: str = "http://127.0.0.1:8000"  # rules every QR code, link and cookie
    secret_key: str = ""  # signs form tokens; kept outside the database so a copy of that alone signs nothing
    trusted_proxies: int = 0  # how many reverse proxies stand in front and may say who asked
    idle_minutes: int = 30  # a therapist's sign-in ends after this long unused (a shared clinic computer)
    sign_in_hours: int = 10  # and after this long in any case: one working day
    sync_body_bytes: int = 262_144  # a month of records; more than that is sent in batches
    form_body_bytes: int = 1_048_576  # no form here needs more
    phone_worker: bool = True  # the way out: false takes the worker off each phone at its next opening online
    devices_per_link: int = 4  # the phone, a partner's tablet, and a new phone
    pseudo_language: bool = False  # the tests' language that shows forgotten text
    argon2_memory_kib: int = 19_456  # OWASP's floor for argon2id with two passes
    argon2_passes: int = 2

    @property
    def database_path(self) -> Path:
        return self.data_dir / "wattlebird.db"

    @property
    def packs_dir(self) -> Path:
        return self.data_dir / "packs"

    @property
    def clips_dir(self) -> Path:
        return self.data_dir / "clips"

    @property
    def sessions_dir(self) -> Path:
        """Where whole sessions lie as one sound each; all of it can be made again."""
        return self.data_dir / "sessions"

    @property
    def https(self) -> bool:
        return urlsplit(self.public_url).scheme == "https"


def public_url_is_usable(url: str) -> bool:
    """Tells whether phones can be sent to an address: https, or this machine itself."""
    parts = urlsplit(url)
    plain_origin = parts.path in {"", "/"} and not parts.query and not parts.fragment
    if not plain_origin or not parts.hostname:
        return False
    return parts.scheme == "https" or (parts.scheme == "http" and parts.hostname in LOOPBACK)


def _beside_or_inside(name: str) -> Path:
    inside = PACKAGE / name
    return inside if inside.is_dir() else PACKAGE.parent / name


def template_folder() -> Path:
    """Finds the templates: inside the package in a wheel, beside it in a checkout."""
    return _beside_or_inside("templates")


def static_folder() -> Path:
    """Finds the static files: inside the package in a wheel, beside it in a checkout."""
    return _beside_or_inside("static")


def default_data_dir() -> Path:
    """Names the data folder: $WATTLEBIRD_DATA, the checkout's instance/, or the user's data folder."""
    if given := os.environ.get("WATTLEBIRD_DATA"):
        return Path(given).resolve()
    if (PACKAGE.parent / "pyproject.toml").is_file():
        return PACKAGE.parent / "instance"
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "wattlebird"


def load_settings(data_dir: Path, **given: Any) -> Settings:
    """Reads settings.toml and secret_key of a data folder; what is given by the caller wins."""
    told: dict[str, Any] = {}
    settings_file = data_dir / "settings.toml"
    if settings_file.is_file():
        told = tomllib.loads(settings_file.read_text(encoding="utf-8"))
    unknown = set(told) - {f.name for f in fields(Settings)} | set(told) & {"data_dir", "secret_key"}
    if unknown:
        raise ValueError(f"settings.toml: unknown setting {', '.join(sorted(unknown))}")
    secret_file = data_dir / "secret_key"
    secret = os.environ.get("WATTLEBIRD_SECRET_KEY") or (
        secret_file.read_text(encoding="utf-8").strip() if secret_file.is_file() else "")
    chosen = Settings(data_dir=data_dir, secret_key=secret, **told)
    wanted = {name: value for name, value in given.items() if value is not None}
    if "public_url" in wanted:
        wanted["public_url"] = str(wanted["public_url"]).rstrip("/")
    return replace(chosen, **wanted)


@cache
def release() -> str:
    """Names this release of the app: its version and a hash of what a phone is given."""
    try:
        number = version("wattlebird")
    except PackageNotFoundError:
        number = "0"
    seen = hashlib.sha256()
    for folder in (template_folder() / "client", template_folder() / "parts", static_folder(), PACKAGE / "translations",
                   PACKAGE / "client"):
        for file in sorted(folder.rglob("*")):
            if file.is_file() and "__pycache__" not in file.parts:
                seen.update(str(file.relative_to(folder)).encode() + b"\0" + hashlib.sha256(file.read_bytes()).digest())
    return f"{number}-{seen.hexdigest()[:12]}"
