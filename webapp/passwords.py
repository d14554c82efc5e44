"""Keeps passwords as argon2id hashes and tells which new ones are too easy to guess."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from webapp.settings import Settings

SHORTEST = 15  # NIST SP 800-63B-4 for a password that stands alone
LONGEST = 256  # far above the 64 that must be allowed; hashing a megabyte would be a way to keep us busy
FEWEST_OWN = 8  # characters that must remain when common words and runs are taken out
_RUNS = ("abcdefghijklmnopqrstuvwxyz", "zyxwvutsrqponmlkjihgfedcba", "01234567890123456789", "98765432109876543210",
         "qwertyuiop", "poiuytrewq", "asdfghjkl", "lkjhgfdsa", "zxcvbnm", "mnbvcxz", "qwertzuiop", "azertyuiop",
         "1qaz2wsx3edc4rfv5tgb6yhn")
_LOOKALIKES = str.maketrans("@$!013457", "asioieast")


def _hasher(settings: Settings) -> PasswordHasher:
    return PasswordHasher(time_cost=settings.argon2_passes, memory_cost=settings.argon2_memory_kib, parallelism=1)


def hash_password(settings: Settings, password: str) -> str:
    return _hasher(settings).hash(password)


@cache
def _nobody_hash(settings: Settings) -> str:
    return hash_password(settings, "nobody has this password")


def is_right(settings: Settings, password_hash: str, password: str) -> bool:
    """Compares a password with a hash; without a hash it takes just as long and is wrong."""
    try:
        right = _hasher(settings).verify(password_hash or _nobody_hash(settings), password[:LONGEST + 1])
    except (VerificationError, InvalidHashError):
        return False
    return right and bool(password_hash)


def needs_new_hash(settings: Settings, password_hash: str) -> bool:
    """Tells whether a hash was made with other parameters than today's."""
    return _hasher(settings).check_needs_rehash(password_hash)


@cache
def common_words() -> tuple[str, ...]:
    """Reads the block list, longest first, so that a long word goes out before a short one inside it."""
    text = (files("webapp") / "common_passwords.txt").read_text(encoding="utf-8")
    words = {line.strip() for line in text.splitlines() if line.strip() and not line.startswith("#")}
    return tuple(sorted(words, key=lambda word: (-len(word), word)))


def _without_runs(text: str) -> str:
    """Takes out stretches of four or more neighbours of the alphabet, the digits or a keyboard row."""
    kept, at = "", 0
    while at < len(text):
        length = 4
        while at + length <= len(text) and any(text[at:at + length] in run for run in _RUNS):
            length += 1
        kept, at = (kept, at + length - 1) if length > 4 else (kept + text[at], at + 1)
    return kept


def _own_part(password: str, own_words: Iterable[str]) -> str:
    """Gives what remains of a password without runs, common words and the words of this clinic."""
    rest = _without_runs(password.casefold())
    plain_words = [word.casefold() for entry in own_words for word in entry.split() if len(word) > 2]
    for spelling in (rest, rest.translate(_LOOKALIKES)):
        stripped = spelling
        for word in [*sorted(plain_words, key=len, reverse=True), *common_words()]:
            stripped = stripped.replace(word, " ")
        rest = min(rest, stripped, key=lambda text: len(text.replace(" ", "")))
    return "".join(ch for ch in rest if not ch.isspace())


def weakness(password: str, own_words: Iterable[str] = ()) -> str | None:
    """Names what is wrong with a new password (a code for its text), or None."""
    if len(password) < SHORTEST:
        return "too_short"
    if len(password) > LONGEST:
        return "too_long"
    own = _own_part(password, own_words)
    if len(own) < FEWEST_OWN and len(password) - len(own) > 0 and not _is_a_phrase(password):
        return "too_common"
    if len(set(password.casefold())) < 6 or _repeats(password.casefold()):
        return "too_common"
    return None


def _is_a_phrase(password: str) -> bool:
    """Tells whether enough different words stand there that the choice itself is hard to guess."""
    return len({word for word in password.casefold().split() if len(word) > 2}) >= 4


def _repeats(text: str) -> bool:
    """Tells whether the whole is one short piece said again and again."""
    return any(text == (text[:size] * (len(text) // size + 1))[:len(text)] for size in range(1, len(text) // 2 + 1))
