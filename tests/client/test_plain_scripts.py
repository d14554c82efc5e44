"""Scripts without their comments: the same code, and a good deal smaller."""

from __future__ import annotations

import gzip
import json
import subprocess

from tests.conftest import NODE, ROOT
from webapp.client.plain_scripts import without_comments

SOURCE = """/** What it does.
 *
 * @param {string} a `b`
 */
// and why
const a = 1; // stays
// one ` of them
/** @type {number} */
const b = /** @type {any} */ (a);
  /** @type {HTMLElement} */ (b).click();
const text = `
// in a text
/* too */
`;
"""
PARSED = """const ts = require('typescript'); const files = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const options = { compilerOptions: { target: 'ESNext', removeComments: true } };
const plain = (text) => ts.transpileModule(text, options).outputText;
const changed = files.filter(([, before, after]) => plain(before) !== plain(after));
console.log(JSON.stringify(changed.map(([name]) => name)));"""


def test_only_comments_on_lines_of_their_own_are_left_out() -> None:
    """What stands beside code, or inside a text, stays."""
    assert without_comments(SOURCE).splitlines() == [
        "const a = 1; // stays",
        "const b = /** @type {any} */ (a);",
        "  /** @type {HTMLElement} */ (b).click();",
        "const text = `",
        "// in a text",
        "/* too */",
        "`;",
    ]


def test_every_script_of_ours_stays_the_same_code() -> None:
    """The compiler sees no difference, and a quarter of the compressed bytes is gone."""
    files = sorted(path for name in ("pages", "parts", "formats") for path in (ROOT / "static" / name).glob("*.js"))
    sources = [(path.name, path.read_text("utf-8")) for path in files]
    given = json.dumps([(name, text, without_comments(text)) for name, text in sources])
    run = subprocess.run([str(NODE), "-e", PARSED], input=given, cwd=ROOT, capture_output=True, text=True, check=True)
    assert json.loads(run.stdout) == []
    before, after = (sum(len(gzip.compress(text.encode())) for text in texts) for texts in (
        [text for _, text in sources], [without_comments(text) for _, text in sources]))  # fmt: skip
    assert after < 0.75 * before
