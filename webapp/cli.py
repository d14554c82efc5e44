"""The console: `wattlebird COMMAND`. Each command parses, calls, prints."""

from __future__ import annotations

import argparse
import getpass
import os
import secrets
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from webapp import cli_code, cli_plan, cli_practice, passwords
from webapp.settings import Settings, default_data_dir, load_settings, public_url_is_usable
from webapp.storage import audit, users
from webapp.storage.database import Db, Store
from webapp.translations import translator

t = translator("en")
ROLES = ("therapist", "lead", "administrator")
REFUSED = 2


def main(argv: Sequence[str] | None = None) -> int:
    """Runs one command and gives its exit code."""
    parser = argparse.ArgumentParser(prog="wattlebird", description=t("cli.about"))
    commands = parser.add_subparsers(title=t("cli.commands"), required=True)
    _add_commands(commands)
    cli_plan.add_commands(commands)
    cli_practice.add_commands(commands)
    cli_code.add_commands(commands)
    args = parser.parse_args(argv)
    try:
        return int(args.run(args) or 0)
    except BrokenPipeError:  # the reader of the output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1


def _add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    serve = commands.add_parser("serve", help=t("cli.serve"), description=t("cli.serve"))
    serve.add_argument("--host", default="127.0.0.1", help=t("cli.serve.host"))
    serve.add_argument("--port", type=int, default=8000, help=t("cli.serve.port"))
    serve.add_argument("--public-url", help=t("cli.serve.public_url"))
    serve.set_defaults(run=_serve)
    secret = commands.add_parser("secret", help=t("cli.secret"), description=t("cli.secret"))
    secret.set_defaults(run=_make_secret)
    add = commands.add_parser("add-therapist", help=t("cli.add"), description=t("cli.add.about"))
    add.add_argument("login", help=t("cli.add.login"))
    add.add_argument("--name", help=t("cli.add.name"))
    add.add_argument("--role", choices=ROLES, default="therapist", help=t("cli.add.role"))
    add.set_defaults(run=_add_therapist)
    for command in (serve, secret, add):
        command.add_argument("--data", type=Path, default=None, metavar="DIR", help=t("cli.data"))


def _refuse(*lines: str) -> int:
    for line in lines:
        print(line, file=sys.stderr)
    return REFUSED


def _settings(args: argparse.Namespace, **given: object) -> Settings:
    return load_settings((args.data or default_data_dir()).resolve(), **given)


def _serve(args: argparse.Namespace) -> int:
    try:
        settings = _settings(args, public_url=args.public_url)
    except (ValueError, OSError, TypeError) as error:
        return _refuse(f"{t('cli.serve.settings_wrong')} {error}")
    if not args.public_url and settings.public_url == Settings(data_dir=settings.data_dir).public_url:
        settings = replace(settings, public_url=f"http://127.0.0.1:{args.port}")
    if missing := _missing(settings):
        return _refuse(*missing)
    from webapp.http_server import serve  # here, since a plan's check needs no web server
    try:
        serve(settings, args.host, args.port, lambda: print(t(
            "cli.serve.ready", address=settings.public_url, host=args.host, port=args.port), flush=True))
    except OSError as error:
        return _refuse(t("cli.serve.port_taken", host=args.host, port=args.port, reason=error.strerror or error))
    return 0


def _missing(settings: Settings) -> list[str]:
    """Names what a practice needs before it can be served, and how it is made."""
    missing = []
    folder = settings.data_dir
    if len(settings.secret_key) < 32:
        missing.append(t("cli.serve.no_secret", folder=folder))
    if not settings.database_path.is_file() or not _has_users(settings):
        missing.append(t("cli.serve.no_user", folder=folder))
    if not public_url_is_usable(settings.public_url):
        missing.append(t("cli.serve.no_address", address=settings.public_url, folder=folder))
    return missing


def _has_users(settings: Settings) -> bool:
    store = Store(settings.database_path)
    db = store.connect()
    found = users.count(db)
    db.close()
    store.close()
    return found > 0


def _make_secret(args: argparse.Namespace) -> int:
    file = (args.data or default_data_dir()).resolve() / "secret_key"
    file.parent.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return _refuse(t("cli.secret.there", file=file))
    with os.fdopen(handle, "w", encoding="ascii") as stream:
        stream.write(secrets.token_hex(32) + "\n")
    print(t("cli.secret.made", file=file))
    return 0


def _add_therapist(args: argparse.Namespace) -> int:
    settings = _settings(args)
    password = _ask_password()
    if password is None:
        return _refuse(t("password.differs"))
    if weak := passwords.weakness(password, (args.login, args.name or "")):
        return _refuse(t(f"password.{weak}", least=passwords.SHORTEST, most=passwords.LONGEST))
    store = Store(settings.database_path)
    db = store.connect()
    try:
        return _add_user(store, db, args, settings, password)
    finally:
        db.close()
        store.close()


def _add_user(store: Store, db: Db, args: argparse.Namespace, settings: Settings, password: str) -> int:
    if not users.LOGIN.fullmatch(args.login):
        return _refuse(t("people.login_form"))
    if users.read_by_login(db, args.login):
        return _refuse(t("people.login_taken", login=args.login))
    now_ms = time.time_ns() // 1_000_000
    with store.write(db):
        added = users.add(db, login=args.login, name=args.name or args.login, role=args.role, created_ms=now_ms,
                          password_hash=passwords.hash_password(settings, password))
        audit.append(db, at_ms=now_ms, user_id=None, action="person_added", client_id=None,
                     detail={"person": added, "role": args.role, "from": "console"})
    print(t("cli.add.done", login=args.login, role=t(f"role.{args.role}")))
    return 0


def _ask_password() -> str | None:
    """Takes one line of standard input, or asks twice on a terminal; None where the two differ."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    first = getpass.getpass(t("cli.add.ask", least=passwords.SHORTEST) + " ")
    return first if getpass.getpass(t("cli.add.ask_again") + " ") == first else None


if __name__ == "__main__":
    sys.exit(main())
