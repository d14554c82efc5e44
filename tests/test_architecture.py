"""Who may import whom, and the habits that a search can keep."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.tree import ROOT, own_files, own_texts

WEBAPP = ROOT / "webapp"

CORE = ("stimulation", "practice", "formats")
PURE = frozenset({*CORE, "drawing", "speech", "guidance", "translations"})
LEAVES = frozenset({"errors", "settings", "qr_image", "sealing"})
BELOW_FLASK = PURE | LEAVES | {"exports", "storage", "passwords"}
BLUEPRINTS = frozenset({"therapist", "client", "exchange"})
WEB = frozenset({"serving", "server_sessions", "security_headers", "static_files", "compiled_templates", "clinic_guard",
                 "phone_requests", "error_pages", "rehearsals"})  # fmt: skip
DECIDING = frozenset({"caseload_rows", "client_log", "erasing", "issuing", "intake", "jobs", "paper", "photo",
                      "planned_dose", "prescribing", "resting", "returned_code", "returns"})
BELOW_BLUEPRINTS = BELOW_FLASK | DECIDING | WEB
CONSOLE = frozenset({"cli", "cli_code", "cli_plan", "cli_practice"})
TOP = frozenset({"app", "http_server", "demo", *CONSOLE})

MAY_IMPORT: dict[str, frozenset[str]] = {
    "stimulation": frozenset(),
    "practice": frozenset({"stimulation"}),
    **dict.fromkeys(("drawing", "formats", "speech", "guidance", "translations"),
                    frozenset({"stimulation", "practice"})),
    "exports": PURE,
    **dict.fromkeys(LEAVES, frozenset()),
    "passwords": frozenset({"settings"}),
    "storage": PURE | {"errors"},
    **dict.fromkeys(DECIDING, BELOW_FLASK | DECIDING),
    **dict.fromkeys(WEB, BELOW_FLASK | WEB),
    **dict.fromkeys(BLUEPRINTS, BELOW_BLUEPRINTS),
    **dict.fromkeys(TOP, BELOW_BLUEPRINTS | BLUEPRINTS | TOP),
}

FLASK = frozenset({"flask", "flask_wtf", "jinja2", "werkzeug", "wtforms", "markupsafe"})
MAY_USE: dict[str, frozenset[str]] = {
    "speech": frozenset({"hibari", "numpy", "py_nanotts", "scipy", "soundfile", "pyloudnorm"}),
    "qr_image": frozenset({"segno"}),
    "photo": frozenset({"PIL"}),
    "sealing": frozenset({"cryptography"}),
    "passwords": frozenset({"argon2"}),
    "storage": frozenset({"sqlite_utils"}),
    **dict.fromkeys((*WEB, *BLUEPRINTS, "app"), FLASK),
    "exports": frozenset({"icalendar", "reportlab"}),
    "returned_code": frozenset({"cryptography"}),
    "http_server": frozenset({"waitress"}),
}

CLOCKS_AND_FILES = {"io", "os", "pathlib", "random", "secrets", "shutil", "socket", "sqlite3", "subprocess", "tempfile",
                    "threading", "time", "urllib"}  # fmt: skip


def part_of(file: Path) -> str:
    """Names the part of the table that a file of webapp/ belongs to."""
    first = file.relative_to(WEBAPP).parts[0]
    return first.removesuffix(".py")


def imported(file: Path) -> Iterator[str]:
    """Lists the modules that a file imports, relative ones spelt out from the top."""
    package = file.relative_to(ROOT).parent.parts
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            start = package[: len(package) - node.level + 1] if node.level else ()
            module = ".".join((*start, *((node.module or "").split(".") if node.module else ())))
            yield module
            yield from (f"{module}.{alias.name}" for alias in node.names if module == "webapp")


def own_parts(file: Path) -> set[str]:
    """Names the other parts of the app that a file imports."""
    names = {name.split(".")[1] for name in imported(file) if name.startswith("webapp.")}
    return names - {part_of(file)}


def foreign(file: Path) -> set[str]:
    """Names the packages from outside the standard library that a file imports."""
    return {name.split(".")[0] for name in imported(file)} - set(sys.stdlib_module_names) - {"webapp"}


PYTHON_FILES = [file for file in own_files("webapp", ".py") if file != WEBAPP / "__init__.py"]


def test_package_file_stays_empty() -> None:
    """Importing the core must not import the rest."""
    assert (WEBAPP / "__init__.py").read_bytes() == b""


def test_every_part_is_in_the_table() -> None:
    """A new part is placed in the table of who may import whom before it imports anything."""
    assert {part_of(file) for file in PYTHON_FILES} <= set(MAY_IMPORT)


@pytest.mark.parametrize("part", sorted(MAY_IMPORT))
def test_part_imports_only_what_lies_below_it(part: str) -> None:
    """The table of who may import whom holds for every file."""
    files = [file for file in PYTHON_FILES if part_of(file) == part]
    too_much = {str(file.relative_to(ROOT)): own_parts(file) - MAY_IMPORT[part] for file in files}
    assert not {name: parts for name, parts in too_much.items() if parts}


@pytest.mark.parametrize("part", sorted(MAY_IMPORT))
def test_part_uses_only_its_libraries(part: str) -> None:
    """Third-party code is used where the table says, and nowhere else."""
    files = [file for file in PYTHON_FILES if part_of(file) == part]
    too_much = {str(file.relative_to(ROOT)): foreign(file) - MAY_USE.get(part, frozenset()) for file in files}
    assert not {name: packages for name, packages in too_much.items() if packages}


def test_core_knows_no_clock_and_no_files() -> None:
    """The core computes from what it is given: it reads no clock, no file, no chance."""
    for part in CORE:
        for file in own_files(f"webapp/{part}", ".py"):
            assert not CLOCKS_AND_FILES & {name.split(".")[0] for name in imported(file)}, file
            calls = {ast.unparse(node.func) for node in ast.walk(ast.parse(file.read_text()))
                     if isinstance(node, ast.Call)}  # fmt: skip
            assert not {"open", "print", "input"} & calls, file
            assert not [call for call in calls if re.search(r"\b(date|datetime)\.(now|today|utcnow)$", call)], file


def test_core_loads_without_web_and_database() -> None:
    """Importing every module of the core loads neither Flask nor SQLite."""
    modules = [".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
               for part in CORE for file in own_files(f"webapp/{part}", ".py")]  # fmt: skip
    assert len(modules) > len(CORE)
    code = f"import sys, {', '.join(modules)}; print(*sys.modules)"
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True)
    loaded = {name.split(".")[0] for name in ran.stdout.split()}
    assert "webapp" in loaded
    assert not loaded & {"flask", "werkzeug", "jinja2", "sqlite3", "sqlite_utils", "numpy", "cryptography"}


def test_sql_is_written_in_storage_only() -> None:
    """No string outside webapp/storage is an SQL statement."""
    verbs = r"SELECT\b.+\bFROM|INSERT\b.+\bINTO|UPDATE\b.+\bSET|DELETE\s+FROM|CREATE\s+TABLE"
    statement = re.compile(rf"^\s*({verbs})\b", re.S)
    for file in PYTHON_FILES:
        if part_of(file) == "storage":
            continue
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert not statement.match(node.value), f"{file}:{node.lineno}"


def test_modules_are_named_for_what_they_hold() -> None:
    """No module is a drawer for odds and ends."""
    drawers = re.compile(r"(^|_)(utils?|helpers?|common|managers?|misc)(_|$)")
    for folder in ("webapp", "static", "tests", ".ci"):
        for file in own_files(folder):
            assert file.suffix not in {".py", ".js"} or not drawers.search(file.stem), file


JS_IMPORT = re.compile(
    r"""^\s*(?:(?:import|export)\b[^;"'()=]*\bfrom|import)\s*["']([^"']+)["']|\bimport\(\s*["']([^"']+)["']""", re.M
)
LAYERS = {"pages": {"pages", "parts", "formats"}, "parts": {"parts", "formats", "vendor"}, "formats": {"formats"}}


def js_code(file: Path) -> str:
    """Reads a module without its comments, where JSDoc types may name any module."""
    return re.sub(r"/\*.*?\*/|(?<![:\"'`])//[^\n]*", "", file.read_text(), flags=re.S)


def js_imports(file: Path) -> set[Path]:
    """Lists the files that a JavaScript module imports."""
    return {(file.parent / (a or b)).resolve() for a, b in JS_IMPORT.findall(js_code(file))}


def js_modules() -> list[Path]:
    """Lists the phone's and the clinic's own modules."""
    return [file for layer in LAYERS for file in own_files(f"static/{layer}", ".js")]


def test_pages_import_parts_and_parts_import_formats() -> None:
    """JavaScript modules import downwards only: pages, parts, formats."""
    for file in js_modules():
        layer = file.relative_to(ROOT / "static").parts[0]
        for target in js_imports(file):
            assert target.relative_to(ROOT / "static").parts[0] in LAYERS[layer], f"{file} imports {target}"
            assert target.is_file(), f"{file} imports {target}"


def test_vendored_module_has_one_importer() -> None:
    """A module from outside is known to one part only, so that it can be replaced there."""
    importers: dict[str, list[str]] = {}
    for file in js_modules():
        for target in js_imports(file):
            if target.parent.name == "vendor":
                importers.setdefault(target.name, []).append(file.name)
    assert not {name: users for name, users in importers.items() if len(users) > 1}


def test_worker_imports_nothing() -> None:
    """The service worker is one file: it works when nothing else can be fetched."""
    worker = ROOT / "static" / "sw.js"
    assert not js_imports(worker)
    assert "importScripts" not in worker.read_text()


SIGHT = r"(?:addEventListener|removeEventListener|visibilityState|hidden)\b"


def test_only_pages_touch_the_document() -> None:
    """Parts and formats know no element; a part may at most listen whether the page can be seen."""
    for file in js_modules():
        if file.relative_to(ROOT / "static").parts[0] != "pages":
            code = re.sub(r"\"[^\"\n]*\"|'[^'\n]*'|`[^`]*`", '""', js_code(file))
            assert not re.search(rf"(?<![\w.])document\b(?!\.{SIGHT})", code), file


def joined(*pieces: str, by: str) -> str:
    """Spells a forbidden text without this file holding it."""
    return by.join(pieces)


FORBIDDEN_ANYWHERE = [
    *(joined(*host, by=".") for host in (("pypi", "org"), ("pythonhosted", "org"), ("npmjs", "org"), ("npmjs", "com"))),
    *(joined("", folder, "", by="/") for folder in ("work", "root", "tmp")),
    *(joined(*word, by="") for word in (("TO", "DO"), ("FIX", "ME"))),
]
FORBIDDEN_IN_TESTS = [
    joined("time", "sleep", by="."), joined("wait", "for", "timeout", by="_"), joined("mark", "skip", by="."),
    joined("pytest", "skip", by="."), joined("importor", "skip", by=""), joined("mark", "xfail", by="."),
    joined("pytest", "xfail", by="."), joined("unittest", "mock", by="."), joined("Magic", "Mock", by=""),
]  # fmt: skip


@pytest.mark.parametrize("words", FORBIDDEN_ANYWHERE)
def test_no_file_holds(words: str) -> None:
    """No registry's name, no path of one machine, no promise instead of work."""
    assert not [name for name, text in own_texts() if words in text]


@pytest.mark.parametrize("words", FORBIDDEN_IN_TESTS)
def test_no_test_waits_blindly_skips_or_pretends(words: str) -> None:
    """Tests poll a condition, run always, and use the real parts."""
    assert not [name for name, text in own_texts() if name.startswith("tests/") and words in text]
