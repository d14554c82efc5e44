"""A server that is killed under load loses nothing that it has confirmed; one that confirms too early is found out."""

from __future__ import annotations

from pathlib import Path

from tests.trust.killing import kill_under_load


def test_a_hundred_kills_lose_nothing_that_was_confirmed(tmp_path: Path) -> None:
    """SIGKILL at any moment while four phones sync; afterwards everything gets home, each record once."""
    killed = kill_under_load(tmp_path, 100, seed=4)
    assert (killed.kills, killed.lost) == (100, 0)
    assert killed.receipts > 300


def test_a_server_that_answers_before_the_commit_is_found_out(tmp_path: Path) -> None:
    """The same kills over the same load find what it loses."""
    assert kill_under_load(tmp_path, 100, seed=4, variant="answers before the commit").lost > 0
