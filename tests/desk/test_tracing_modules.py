"""The tracing page's modules that need no browser, run by the node that Playwright brings."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

playwright = pytest.importorskip("playwright", reason="the JavaScript is tested with the node in Playwright's package")
NODE = Path(playwright.__file__).parent / "driver" / "node"
HERE = Path(__file__).parent / "js"


@pytest.mark.skipif(not NODE.exists(), reason="Playwright's package has no node of its own here")
def test_the_modules_pass_their_own_tests():
    done = subprocess.run(
        [str(NODE), "--test", str(HERE / "tracing.test.mjs")], capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stdout[-4000:]
    assert "fail 0" in done.stdout
