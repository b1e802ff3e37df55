"""From the hand to the picture: how long after a knob is moved the cycle page shows it, with the real solver behind.

    python benchmarks/desk.py            one line is added to benchmarks/history_desk.jsonl
    python benchmarks/desk.py --dry      measured and printed, nothing is kept

The desk is served by its own command in a process of its own; a real browser (Debian's chromium, without a screen)
turns the dimmer's knob of the globe lamp with mouse moves at 60 a second, up and down its whole way. The time counts
from the pointer's event to the first animation frame at which the page's pictures show that position (or a later one):
one frame of 60 Hz, 17 ms, is the least that can be seen. Figures of a machine that is busy with other things say so by
its load: their percentiles are the machine's as much as ours. So the processor time of one answer stands beside them,
of the solver's thread (figures and frame included) and of the page's main thread, which load changes little.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import time
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
HISTORY = Path(__file__).with_name("history_desk.jsonl")
AIM = 34.0  # [ms] at the 95th percentile
SECONDS = 8.0
RATE = 60.0

WATCH = """() => {
  const root = document.getElementById("cycle"), found = [], open = [];
  let stop = false, frames = 0;
  addEventListener("pointermove", (event) => {
    const tag = Number(root.dataset.asked);
    if (!open.length || open[open.length - 1][0] !== tag) open.push([tag, event.timeStamp]);
  });
  const look = () => {
    frames += 1;
    const shown = Number(root.dataset.shown), now = performance.now();
    while (open.length && open[0][0] <= shown) found.push(now - open.shift()[1]);
    if (!stop) requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
  let drawn = 0;
  new MutationObserver((all) => { drawn += all.length; }).observe(root, { attributeFilter: ["data-shown"] });
  window.lidoffWatch = () => { stop = true; return { found, waiting: open.length, frames, drawn }; };
}"""


def main() -> None:
    """Measures, prints, keeps."""
    with tempfile.TemporaryDirectory() as folder:
        server, link = serve(Path(folder))
        try:
            line = measured(link)
        finally:
            server.terminate()
            server.wait(10)
    print(json.dumps(line, indent=1))
    print(f"95th percentile {line['p95_ms']:.0f} ms, aim {AIM:.0f} ms, load {line['load']:.1f}")
    if "--dry" not in sys.argv:
        with HISTORY.open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(line) + "\n")


def serve(folder: Path) -> tuple[subprocess.Popen[str], str]:
    """The desk on a folder with the globe lamp in it, and the opening link."""
    from lidoff.demo import shipped

    (folder / "globe-lamp").mkdir()
    (folder / "globe-lamp" / "item.toml").write_text(shipped("globe-lamp"), encoding="utf-8")
    command = [sys.executable, "-m", "lidoff", "desk", str(folder), "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert server.stdout is not None
    for text in server.stdout:
        found = re.search(r"http://\S+token=\S+", text)
        if found:
            return server, found.group(0)
    raise SystemExit("the desk did not start")


def measured(link: str) -> dict[str, Any]:
    """The latencies of a knob turned for some seconds."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(link)
        page.goto(f"{link.partition('/open')[0]}/items/globe-lamp/cycle")
        page.wait_for_selector("#cycle[data-shown]", timeout=60_000)
        turn(page, 1.5)  # the first moves load what is loaded late
        page.evaluate(WATCH)
        tasks = page.context.new_cdp_session(page)
        tasks.send("Performance.enable", {"timeDomain": "threadTicks"})
        before = spent(tasks)
        moves = turn(page, SECONDS)
        page.wait_for_timeout(500)
        told = page.evaluate("() => lidoffWatch()")
        busy = spent(tasks) - before
        browser.close()
    found = sorted(told["found"])
    return {
        "date": date.today().isoformat(),
        "lidoff": version("lidoff"),
        "item": "globe-lamp",
        "moves": len(found),
        "moves_per_second": round(moves, 1),
        "drawn_per_second": round(told["drawn"] / SECONDS, 1),
        "frames_per_second": round(told["frames"] / (SECONDS + 0.5), 1),
        "median_ms": at(found, 0.5),
        "p95_ms": at(found, 0.95),
        "max_ms": at(found, 1.0),
        "never_shown": told["waiting"],
        "solver_cpu_ms": solver_cost(),
        "page_cpu_ms": round(1e3 * busy / max(told["drawn"], 1), 1),
        "load": round(os.getloadavg()[0], 2),
        "cores": os.cpu_count(),
    }


def spent(tasks: Any) -> float:
    """Processor time of the page's main thread until now [s]."""
    metrics = tasks.send("Performance.getMetrics")["metrics"]
    return float(next(one["value"] for one in metrics if one["name"] == "TaskDuration"))


def solver_cost() -> float:
    """Median processor time of one answer while the knob goes up and down in steps of a sixtieth [ms]."""
    from lidoff.circuit import build
    from lidoff.demo import shipped
    from lidoff.desk.live import Session
    from lidoff.record import examine

    item, _ = examine(shipped("globe-lamp"), Path("item.toml"))
    session, found = Session(build(item)), []
    for tag, step in enumerate([*range(61), *range(60, -1, -1)]):
        began = time.thread_time()
        session.answer(tag, {"VR1.position": step / 60.0})
        found.append(1e3 * (time.thread_time() - began))
    return at(sorted(found), 0.5)


def turn(page: Page, seconds: float) -> float:
    """The knob turned to and fro by the mouse; gives the moves a second that were made."""
    box = page.locator(".knob-picture .knob-face").bounding_box()
    assert box is not None
    x, y, radius = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, 0.8 * box["width"] / 2

    def place(share: float) -> tuple[float, float]:
        from math import cos, radians, sin

        angle = radians(-150.0 + 300.0 * share)
        return x + radius * sin(angle), y - radius * cos(angle)

    page.mouse.move(*place(1.0))
    page.mouse.down()
    began, count = time.perf_counter(), 0
    while (now := time.perf_counter() - began) < seconds:
        along = (now / 2.0) % 2.0  # two seconds for the whole way
        page.mouse.move(*place(abs(1.0 - along)))
        count += 1
        time.sleep(max(0.0, began + count / RATE - time.perf_counter()))
    page.mouse.up()
    return count / seconds


def at(found: list[float], share: float) -> float:
    """The value below which that share lies."""
    return round(found[min(len(found) - 1, int(share * len(found)))], 1)


if __name__ == "__main__":
    main()
