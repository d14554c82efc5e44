"""The console commands about a whole practice: demo, backup, restore, doctor."""

from __future__ import annotations

import argparse
import shutil
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

from webapp.settings import default_data_dir, load_settings, release
from webapp.storage import backup, health
from webapp.translations import translator

t = translator("en")
BAD_INPUT = 2
FOUND_WRONG = 1



def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Adds the commands to the console's parser."""
    demo = commands.add_parser("demo", help=t("demo.help"), description=t("demo.help"))
    demo.add_argument("--port", type=int, default=8000, help=t("cli.serve.port"))
    demo.add_argument("--data", type=Path, default=None, metavar="DIR", help=t("demo.data"))
    demo.add_argument("--fresh", action="store_true", help=t("demo.fresh"))
    demo.set_defaults(run=_demo)
    copy = commands.add_parser("backup", help=t("backup.help"), description=t("backup.help"))
    copy.add_argument("file", type=Path, metavar="FILE", help=t("backup.file"))
    copy.set_defaults(run=_backup)
    back = commands.add_parser("restore", help=t("backup.restore_help"), description=t("backup.restore_help"))
    back.add_argument("file", type=Path, metavar="FILE", help=t("backup.restore_file"))
    back.add_argument("--replace", action="store_true", help=t("backup.replace"))
    back.set_defaults(run=_restore)
    doctor = commands.add_parser("doctor", help=t("doctor.help"), description=t("doctor.help"))
    doctor.set_defaults(run=_doctor)
    for command in (copy, back, doctor):
        command.add_argument("--data", type=Path, default=None, metavar="DIR", help=t("cli.data"))


def _now_ms() -> int:
    return time.time_ns() // 1_000_000


def _refuse(key: str, **params: object) -> int:
    print(t(key, **params), file=sys.stderr)
    return BAD_INPUT


def _folder(args: argparse.Namespace) -> Path:
    return (args.data or default_data_dir()).resolve()


def _demo(args: argparse.Namespace) -> int:
    from webapp.demo import making  # here, since a backup needs no voice and no web server
    from webapp.demo.serving import serve_demo

    folder = (args.data or default_data_dir() / "demo").resolve()
    try:
        if args.fresh:
            making.remove_demo(folder)
        made_on = making.demo_is_made(folder)
        if made_on is None:
            print(t("demo.making", folder=_short(folder)), flush=True)
            making.make_demo(folder, _now_ms(), lambda line: print(line, flush=True))
        elif (datetime.now(UTC).date() - made_on).days > 1:
            print(t("demo.old", day=made_on.isoformat()))
        return serve_demo(folder, args.port)
    except making.DemoError as error:
        return _refuse(error.key, **error.params)


def _short(folder: Path) -> Path:
    """Gives a folder as seen from here, where it lies below."""
    return folder.relative_to(Path.cwd()) if folder.is_relative_to(Path.cwd()) else folder


def _backup(args: argparse.Namespace) -> int:
    file = args.file.resolve()
    try:
        made = backup.make_backup(load_settings(_folder(args)).database_path, file, _now_ms())
    except backup.BackupError as error:
        return _refuse(error.key, **error.params)
    print(t("backup.made", path=args.file, sha256=made.sha256, size=f"{file.stat().st_size / 1e6:.1f}"))
    return 0


def _restore(args: argparse.Namespace) -> int:
    database = load_settings(_folder(args)).database_path
    try:
        former = backup.restore(args.file.resolve(), database, _now_ms(), replace=args.replace)
    except backup.BackupError as error:
        return _refuse(error.key, **error.params)
    except (OSError, shutil.Error) as error:
        return _refuse("backup.failed", path=database, why=error)
    print(t("backup.restored", path=database))
    if former:
        print(t("backup.former", path=former))
    return 0


def _doctor(args: argparse.Namespace) -> int:
    settings = load_settings(_folder(args))
    today = datetime.now(UTC).date().isoformat()
    secret = health.Check(name="secret", state="ok" if settings.secret_key else "look")
    checks = [*health.examine(settings.database_path, release(), today, _now_ms()), secret]
    for check in checks:
        print(t(f"doctor.word.{check.state}"), t(f"doctor.{check.name}.{check.state}", **check.params))
    if all(check.state == "ok" for check in checks):
        print(t("doctor.all_well"))
    return FOUND_WRONG if any(check.state == "wrong" for check in checks) else 0
