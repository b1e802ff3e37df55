"""The cycle page's modules that need no browser, run by the node that Playwright brings; and what we share."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

import lidoff.desk
from lidoff.quantity import engineering, parse
from lidoff.quantity.series import e_series

playwright = pytest.importorskip("playwright", reason="the JavaScript is tested with the node in Playwright's package")
NODE = Path(playwright.__file__).parent / "driver" / "node"
HERE = Path(__file__).parent / "js"
STATIC = Path(lidoff.desk.__file__).parent / "static" / "cycle"

pytestmark = pytest.mark.skipif(not NODE.exists(), reason="Playwright's package has no node of its own here")


def node(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(NODE), *arguments], capture_output=True, text=True, timeout=120, check=False)


def said(module: str, expression: str) -> object:
    """What an expression over the module `it` gives."""
    code = (
        f"const it = await import({json.dumps((STATIC / module).as_uri())}); console.log(JSON.stringify({expression}))"
    )
    done = node("--input-type=module", "-e", code)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_the_modules_pass_their_own_tests():
    done = node("--test", str(HERE / "cycle.test.mjs"))
    assert done.returncode == 0, done.stdout[-4000:]
    assert "fail 0" in done.stdout


def test_numbers_read_as_they_do_everywhere_else():
    """`show.js` against `quantity.engineering`, whose own tests hold it to the SI brochure.

    Values halfway between two are left out: those round to the even figure here and to the nearer binary one there.
    """
    sizes = [value * 10.0**power for value in (1.0, 2.346, 9.996, 47.26, 834.7) for power in (-9, -6, -4, -1, 0, 1, 3)]
    cases = [(sign * size, unit) for size in sizes for unit in ("A", "V", "W") for sign in (1.0, -1.0)]
    found = said("show.js", f"{json.dumps(cases)}.map(([value, unit]) => it.words(value, unit))")
    assert found == [engineering(value, unit).replace("-", "−") for value, unit in cases]


def test_the_next_value_is_that_of_the_series():
    """`series.js` against the E12 series of `quantity`, whose own tests hold it to IEC 60063."""
    up = (
        '(() => { const all = ["1k"]; while (all.length < 13) all.push(it.next(all.at(-1), "ohm", 1)); return all; })()'
    )
    found = said("series.js", up)
    assert isinstance(found, list)
    expected = [100.0 * step for step in e_series(12)] + [1e4]
    assert [parse(text, "ohm") for text in found] == pytest.approx(expected)
