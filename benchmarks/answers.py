"""From a key to the next question: how long the tracing page takes with an answer, on a board of 324 pads.

    python benchmarks/answers.py         one line is added to benchmarks/history_answers.jsonl
    python benchmarks/answers.py --dry   measured and printed, nothing is kept

The desk is served in a process of its own, its board drawn and its picture's word made up (tests/desk/tracing_board.py:
306 joins, 51 of them in doubt), and a real browser presses y and n. The time counts from the key to the first frame in
which the next question stands; of it, that until the desk's answer was there, and that which the page's own script took
afterwards. The desk's share by itself (the act, what is told of it, both without a browser) stands beside it. Figures
of a machine that is busy with other things say so by its load.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

from desk import at, started  # noqa: E402
from playwright.sync_api import sync_playwright  # noqa: E402
from tests.desk.tracing_board import laid_out, made_up  # noqa: E402

HISTORY = Path(__file__).with_name("history_answers.jsonl")
AIM = 100.0  # [ms]
ASKED = 25
SERVED = """
import sys
from pathlib import Path
sys.path.insert(0, ".")
from tests.desk.tracing_board import made_up
from lidoff.desk import tracing_bench
from lidoff.desk.serving import serve
tracing_bench.read_copper = made_up(6)
serve(Path(sys.argv[1]), browser=False, told=lambda link: print(link, flush=True))
"""
PRESSED = """async (count) => {
  const words = document.getElementById('tracing-question'), taken = [], until = [];
  for (let n = 0; n < count; n += 1) {
    const before = words.textContent, start = performance.now();
    document.dispatchEvent(new KeyboardEvent('keydown', { key: n % 2 ? 'n' : 'y', bubbles: true }));
    while (words.textContent === before && performance.now() - start < 5000) await new Promise(requestAnimationFrame);
    taken.push(performance.now() - start);
    const act = performance.getEntriesByType('resource').filter((one) => one.name.endsWith('/act')).at(-1);
    until.push(act.responseEnd - start);
    await new Promise((then) => setTimeout(then, 200));
  }
  return { taken, until };
}"""


def main() -> None:
    """Measures, prints, keeps."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "board"
        folder.mkdir()
        laid_out(folder / "item.toml", 18, 18, 4)
        own = alone(folder)
        laid_out(folder / "item.toml", 18, 18, 4)
        server, link = started([sys.executable, "-c", SERVED, place])
        try:
            seen = pressed(link)
        finally:
            server.terminate()
            server.wait(10)
    taken, until = sorted(seen["taken"]), sorted(seen["until"])
    line: dict[str, Any] = {
        "date": date.today().isoformat(),
        "lidoff": version("lidoff"),
        "answers": len(taken),
        "median_ms": at(taken, 0.5),
        "p95_ms": at(taken, 0.95),
        "until_answered_ms": at(until, 0.5),
        "page_cpu_ms": round(seen["cpu"], 1),
        **own,
        "load": round(os.getloadavg()[0], 2),
        "cores": os.cpu_count(),
    }
    print(json.dumps(line, indent=1))
    print(f"median {line['median_ms']:.0f} ms, aim {AIM:.0f} ms, load {line['load']:.1f}")
    if "--dry" not in sys.argv:
        with HISTORY.open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(line) + "\n")


def pressed(link: str) -> dict[str, Any]:
    """The times of each answer [ms], and the processor time of the page's main thread for one [ms]."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(link)
        page.goto(f"{link.partition('/open')[0]}/items/board/tracing")
        page.wait_for_selector("#tracing-card:visible", timeout=60_000)
        page.wait_for_selector("#tracing:not([data-working])", timeout=120_000)
        tasks = page.context.new_cdp_session(page)
        tasks.send("Performance.enable", {"timeDomain": "threadTicks"})
        page.evaluate(PRESSED, 3)  # the first ones load what is loaded late

        def spent() -> float:
            metrics = tasks.send("Performance.getMetrics")["metrics"]
            return float(next(one["value"] for one in metrics if one["name"] == "TaskDuration"))

        before = spent()
        seen: dict[str, Any] = page.evaluate(PRESSED, ASKED)
        seen["cpu"] = 1e3 * (spent() - before) / ASKED
        browser.close()
    return seen


def alone(folder: Path) -> dict[str, float]:
    """Processor time of the desk for one answer without a browser: the act, and what the page is told [ms], [bytes]."""
    from lidoff.desk import tracing_bench
    from lidoff.desk.shop import Shop
    from lidoff.desk.tracing_told import told

    real, tracing_bench.read_copper = tracing_bench.read_copper, made_up(6)
    shop = Shop(folder.parent)
    desk = shop.item(folder.name)
    assert desk is not None
    bench = tracing_bench.Bench(desk, shop.confined)
    bench.opened()
    while bench.due():
        bench.work()
    tracing_bench.read_copper = real
    acts, tells, size = [], [], 0
    for number in range(ASKED):
        join, began = bench.joins.doubtful[0], time.thread_time()
        bench.act({"do": "answer", "a": join.a, "b": join.b, "joined": number % 2 == 0, "by": "user"})
        middle = time.thread_time()
        size = len(json.dumps(told(bench)))
        acts.append(1e3 * (middle - began))
        tells.append(1e3 * (time.thread_time() - middle))
    return {"act_cpu_ms": at(sorted(acts), 0.5), "told_cpu_ms": at(sorted(tells), 0.5), "told_bytes": size}


if __name__ == "__main__":
    main()
