"""What the browser tests share: a clinic made once and copied for each test, its server, phones."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect, sync_playwright

from tests.browser.clinic_server import ClinicServer
from tests.browser.clinic_side import ClinicSide
from tests.browser.faulty_proxy import FaultyProxy
from tests.browser.phone import LONG_MS, Phone
from tests.client.invented_clinic import TOKEN, make_clinic
from tests.made_once import keeps_clips_in, made_once
from tests.ports import free_port

# a busy machine is slow, not wrong
expect.set_options(timeout=LONG_MS)


@pytest.fixture(scope="session")
def browser_tool() -> Iterator[Playwright]:
    """Gives the tool that drives Chromium."""
    with sync_playwright() as tool:
        yield tool


@pytest.fixture(scope="session")
def made_clinic(tmp_path_factory: pytest.TempPathFactory, clips: Path) -> Path:
    """Makes the invented clinic once: its clips and pack take a few seconds."""

    def make(folder: Path) -> None:
        keeps_clips_in(clips, folder)
        make_clinic(folder, "http://127.0.0.1:1", time.time_ns() // 1_000_000)

    return made_once(tmp_path_factory, "clinic-of-today", make)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A clinic and the profile of a phone that got its plan from it, at an address that both know."""

    clinic: Path
    profile: Path
    port: int
    address: str


@pytest.fixture(scope="session")
def once_settled(browser_tool: Playwright, made_clinic: Path, tmp_path_factory: pytest.TempPathFactory) -> Settled:
    """Has a phone get its plan, once: tests that begin after that get a copy of the clinic and of the phone."""
    folder, port = tmp_path_factory.mktemp("settled"), free_port()
    server = ClinicServer(shutil.copytree(made_clinic, folder / "clinic", symlinks=True), port)
    server.starts()
    phone = Phone(browser_tool, folder / "profile")
    phone.opens_the_browser()
    address = phone.gets_the_plan(server.public_url, TOKEN)
    phone.log_is_home()
    phone.closes_the_browser()
    server.stops()
    return Settled(clinic=server.data_dir, profile=folder / "profile", port=port, address=address)


@pytest.fixture
def settled_before(request: pytest.FixtureRequest) -> Settled | None:
    """Gives what a test marked as `settled` begins from, None for the others."""
    if not request.node.get_closest_marker("settled"):
        return None
    begun: Settled = request.getfixturevalue("once_settled")
    return begun


@pytest.fixture
def clinic_folder(made_clinic: Path, settled_before: Settled | None, tmp_path: Path) -> Path:
    """Gives a test its own copy of the clinic."""
    begun = settled_before.clinic if settled_before else made_clinic
    return shutil.copytree(begun, tmp_path / "clinic", symlinks=True)


@pytest.fixture
def server(clinic_folder: Path, settled_before: Settled | None) -> Iterator[ClinicServer]:
    """Gives the real server, running."""
    running = ClinicServer(clinic_folder, settled_before.port if settled_before else free_port())
    running.starts()
    yield running
    running.stops()


@pytest.fixture
def clinic(clinic_folder: Path) -> ClinicSide:
    """Gives what the clinic's database says, and who acts on it."""
    return ClinicSide(clinic_folder)


@pytest.fixture
def proxy(server: ClinicServer) -> Iterator[FaultyProxy]:
    """Gives a proxy before the server that can be told to misbehave."""
    between = FaultyProxy(server.port)
    yield between
    between.ends()


@pytest.fixture
def new_phone(browser_tool: Playwright, tmp_path: Path) -> Iterator[Callable[[str], Phone]]:
    """Makes phones by name; their browsers end with the test."""
    made: list[Phone] = []

    def make(name: str) -> Phone:
        phone = Phone(browser_tool, tmp_path / f"profile-{name}")
        phone.opens_the_browser()
        made.append(phone)
        return phone

    yield make
    for phone in made:
        phone.closes_the_browser()


@pytest.fixture
def phone(new_phone: Callable[[str], Phone], settled_before: Settled | None, tmp_path: Path) -> Phone:
    """Gives one phone with its browser open; if it is settled, it has its plan and its log is home."""
    if not settled_before:
        return new_phone("first")
    shutil.copytree(settled_before.profile, tmp_path / "profile-first", symlinks=True)
    phone = new_phone("first")
    phone.address = settled_before.address
    phone.opens("keep")
    return phone
