"""The console commands of the returned log: `code encode` and `code decode`."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, TextIO

from webapp.formats.json_text import parse_json
from webapp.formats.log_record import MOST_BYTES, read_record
from webapp.formats.reading import ReadingError
from webapp.formats.return_code import MOST_LETTERS, MOST_VERSION, CodeError
from webapp.returned_code import ONE_SYMBOL, Frame, decode_frame, encode_frames
from webapp.translations import translator

SOME_BAD = 1
BAD_INPUT = 2
_KEY = re.compile(r"[0-9a-fA-F]{64}")
_MOST_FILE = 50_000_000
_LEAST_VERSION = 5
t = translator("en")


class BadInputError(Exception):
    """What was given can't be used; its text is the one line that a person reads."""


def _one_line(text: str) -> str:
    return "".join(letter if letter.isprintable() else "\ufffd" for letter in text)


def _key(text: str) -> bytes:
    if not _KEY.fullmatch(text):
        raise BadInputError(t("cli.code.key_wrong", n=len(text)))
    return bytes.fromhex(text)


def _lines(file: str) -> Iterator[tuple[int, bytes]]:
    try:
        data = Path(file).read_bytes() if Path(file).stat().st_size <= _MOST_FILE else None
    except (OSError, ValueError) as error:
        raise BadInputError(f"{_one_line(file)}: {getattr(error, 'strerror', None) or error}") from error
    if data is None:
        raise BadInputError(f"{_one_line(file)}: {t('cli.code.too_large', most=_MOST_FILE)}")
    return ((n, line) for n, line in enumerate(data.splitlines(), 1) if line.strip())


def _records(file: str) -> list[dict[str, Any]]:
    """Reads records one a line, all of one device."""
    found: list[dict[str, Any]] = []
    for n, line in _lines(file):
        try:
            read_record(line)
        except ReadingError as error:
            raise BadInputError(_one_line(t("cli.code.line", file=file, line=n, reason=error))) from error
        record: Any = parse_json(line, MOST_BYTES)
        if found and record["device"] != found[0]["device"]:
            reason = t("cli.code.other_device", device=found[0]["device"], other=record["device"])
            raise BadInputError(_one_line(t("cli.code.line", file=file, line=n, reason=reason)))
        found.append(record)
    return found


def _tell_long_ones(frames: Iterable[Frame], most: int) -> None:
    for frame in frames:
        if not 0 < frame.version <= most:
            version = t("cli.code.needs_version", version=frame.version)
            needs = version if frame.version else t("cli.code.needs_file")
            seqs = ", ".join(str(seq) for seq in frame.seqs)
            sys.stderr.write(t("cli.code.too_long", seqs=seqs, most=most, needs=needs) + "\n")


def encode(args: argparse.Namespace, out: TextIO) -> int:
    """Writes the payloads of a file of records."""
    key, records = _key(args.key), _records(args.records)
    if records:
        frames = encode_frames(records, key, records[0]["device"], max_version=args.max_version)
        out.writelines(f"{frame.payload}\n" for frame in frames)
        _tell_long_ones(frames, args.max_version)
    return 0


def decode(args: argparse.Namespace, out: TextIO) -> int:
    """Writes the records of the payloads on standard input; names each bad one and goes on."""
    key, result = _key(args.key), 0
    for n, line in enumerate(iter(lambda: sys.stdin.buffer.readline(MOST_LETTERS), b""), 1):
        if payload := line.decode("ascii", "replace").strip("\r\n"):
            try:
                contents = decode_frame(payload, lambda device: key).contents
            except CodeError as error:
                reason = t(f"returned_code.refused.{error.reason}", device=error.device)
                sys.stderr.write(t("cli.code.payload", line=n, reason=reason) + "\n")
                result = SOME_BAD
            else:
                out.writelines(f"{content.decode()}\n" for content in contents)
    return result


def _guarded(command: Callable[[argparse.Namespace, TextIO], int]) -> Callable[[argparse.Namespace], int]:
    """Turns a fault of the input into one line and exit code 2."""

    def run(args: argparse.Namespace) -> int:
        try:
            return command(args, sys.stdout)
        except BadInputError as error:
            sys.stderr.write(f"{error}\n")
            return BAD_INPUT

    return run


def add_commands(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Adds `code encode` and `code decode`; each parsed result carries `run(args) -> exit code`."""
    code = subparsers.add_parser("code", help=t("cli.code.about"), description=t("cli.code.about"))
    commands = code.add_subparsers(metavar="COMMAND", required=True)
    one = commands.add_parser("encode", help=t("cli.code.encode"), description=t("cli.code.encode"))
    one.add_argument("records", metavar="RECORDS.jsonl")
    versions = range(_LEAST_VERSION, MOST_VERSION + 1)
    told = t("cli.code.max_version", n=ONE_SYMBOL)
    one.add_argument("--max-version", type=int, choices=versions, default=ONE_SYMBOL, metavar="N", help=told)
    one.set_defaults(run=_guarded(encode))
    two = commands.add_parser("decode", help=t("cli.code.decode"), description=t("cli.code.decode"))
    two.set_defaults(run=_guarded(decode))
    for command in (one, two):
        command.add_argument("--key", required=True, metavar="HEX", help=t("cli.code.key"))
