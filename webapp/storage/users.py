"""The people who sign in, and the one-time links with which they choose a password."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows

LOGIN = re.compile(r"[a-z0-9][a-z0-9._-]{1,31}", re.IGNORECASE)
NO_PASSWORD = ""  # matches no password: the account waits for its first-password link


@dataclass(frozen=True, slots=True, kw_only=True)
class User:
    """One person who signs in; `disabled_ms` is None while the account may be used."""

    id: int
    login: str
    name: str
    role: str
    password_hash: str
    created_ms: int
    disabled_ms: int | None

    @property
    def waits_for_password(self) -> bool:
        return self.password_hash == NO_PASSWORD


def _user(found: dict[str, Any] | None) -> User | None:
    return User(**found) if found else None


def read(db: Db, user_id: int) -> User | None:
    return _user(row(db, "SELECT * FROM users WHERE id = ?", user_id))


def read_active(db: Db, user_id: int) -> User | None:
    """Reads a user who may use the app now."""
    return _user(row(db, "SELECT * FROM users WHERE id = ? AND disabled_ms IS NULL", user_id))


def read_by_login(db: Db, login: str) -> User | None:
    return _user(row(db, "SELECT * FROM users WHERE login = ?", login))


def list_all(db: Db) -> list[User]:
    """Lists everybody, those who may sign in first."""
    return [User(**found) for found in rows(db, "SELECT * FROM users ORDER BY disabled_ms IS NOT NULL, name, id")]


def list_clinicians(db: Db) -> list[User]:
    """Lists who may treat clients."""
    return [user for user in list_all(db) if user.role != "administrator" and user.disabled_ms is None]


def count(db: Db) -> int:
    found = row(db, "SELECT count(*) AS n FROM users")
    return int(found["n"]) if found else 0


def add(db: Db, *, login: str, name: str, role: str, password_hash: str, created_ms: int) -> int:
    cursor = db.execute("INSERT INTO users (login, name, role, password_hash, created_ms) VALUES (?, ?, ?, ?, ?)",
                        [login, name, role, password_hash, created_ms])
    return int(cursor.lastrowid or 0)


def set_password(db: Db, user_id: int, password_hash: str) -> None:
    db.execute("UPDATE users SET password_hash = ? WHERE id = ?", [password_hash, user_id])


def disable(db: Db, user_id: int, at_ms: int) -> None:
    db.execute("UPDATE users SET disabled_ms = ? WHERE id = ? AND disabled_ms IS NULL", [at_ms, user_id])


def enable(db: Db, user_id: int) -> None:
    db.execute("UPDATE users SET disabled_ms = NULL WHERE id = ?", [user_id])


def keeper_remains(db: Db, without_id: int) -> bool:
    """Tells whether somebody who can add people would be left."""
    left = row(db, "SELECT count(*) AS n FROM users WHERE role IN ('lead','administrator') AND disabled_ms IS NULL "
                   "AND password_hash <> '' AND id <> ?", without_id)
    return bool(left and left["n"])


def _token_hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def keep_first_password_token(db: Db, user_id: int, token: str, ends_ms: int) -> None:
    """Keeps the hash of a person's newest link; an older link of theirs ends."""
    db.execute("DELETE FROM first_passwords WHERE user_id = ?", [user_id])
    db.execute("INSERT INTO first_passwords VALUES (?, ?, ?)", [_token_hash(token), user_id, ends_ms])


def read_by_first_password_token(db: Db, token: str, now_ms: int) -> User | None:
    """Finds whose link this is, while it lasts."""
    return _user(row(db, "SELECT users.* FROM users JOIN first_passwords ON user_id = users.id "
                         "WHERE token_sha256 = ? AND ends_ms > ? AND disabled_ms IS NULL", _token_hash(token), now_ms))


def end_first_password_tokens(db: Db, user_id: int) -> None:
    db.execute("DELETE FROM first_passwords WHERE user_id = ?", [user_id])
