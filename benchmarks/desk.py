"""From the hand to the picture: how long after a knob is moved the cycle page shows it, with the real solver behind.

    python benchmarks/desk.py            one line is added to benchmarks/history_desk.jsonl
    python benchmarks/desk.py --dry      measured and printed, nothing is kept

The desk is served by its own command in a process of its own; a real browser (Debian's chromium, without a screen)
turns the dimmer's knob of the globe lamp with mouse moves at 60 a second, up and down its whole way. They go straight
to the browser's own input (its debugging socket), and nobody waits for one before the next, as no hand would. The time
counts from the stamp that the browser gives a move to the first animation frame at whose end the page's pictures show
that position (or a later one). Figures of a machine that is busy with other things say so by its load: their
percentiles are the machine's as much as ours. So processor times stand beside them, which load changes little: of one
answer of the solver's thread (figures and frame included), of the page's main thread for each drawing, and of all
processes of the browser, the desk and the browser's driver together for each drawing.
"""

from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable
from datetime import date
from importlib.metadata import version
from math import cos, radians, sin
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright
from websockets.sync.client import connect

ROOT = Path(__file__).resolve().parent.parent
HISTORY = Path(__file__).with_name("history_desk.jsonl")
AIM = 34.0  # [ms] at the 95th percentile
SECONDS = 8.0
RATE = 60.0
SCRUB = 4.0  # [s]
Place = Callable[[float], tuple[float, float]]

# After each animation callback of the page it is looked at what the pictures show by then.
FRAMES = """(() => {
  const real = window.requestAnimationFrame.bind(window);
  window.lidoffLook = () => {};
  window.requestAnimationFrame = (work) => real((now) => { work(now); window.lidoffLook(); });
})()"""
WATCH = """() => {
  const root = document.getElementById("cycle"), found = [], open = [];
  let stop = false, frames = 0, drawn = 0, moves = 0;
  addEventListener("pointerrawupdate", (event) => {
    const tag = Number(root.dataset.asked);
    moves += 1;
    if (!open.length || open[open.length - 1][0] !== tag) open.push([tag, event.timeStamp]);
  });
  window.lidoffLook = () => {
    const shown = Number(root.dataset.shown), now = performance.now();
    while (open.length && open[0][0] <= shown) found.push(now - open.shift()[1]);
  };
  const count = () => { frames += 1; if (!stop) requestAnimationFrame(count); };
  requestAnimationFrame(count);
  new MutationObserver((all) => { drawn += all.length; }).observe(root, { attributeFilter: ["data-shown"] });
  window.lidoffWatch = () => { stop = true; return { found, waiting: open.length, frames, drawn, moves }; };
}"""
SCRUBBED = """() => {
  const gaps = [], began = performance.now(), at = document.getElementById("cycle-at-shown");
  let last = began, frames = 0, stop = false, before = at.textContent;
  const look = (now) => {
    if (at.textContent !== before) { before = at.textContent; frames += 1; gaps.push(now - last); last = now; }
    if (!stop) requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
  window.lidoffScrubbed = () => { stop = true; return { frames, gaps, seconds: (performance.now() - began) / 1000 }; };
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
    return started([sys.executable, "-m", "lidoff", "desk", str(folder), "--no-browser"])


def started(command: list[str]) -> tuple[subprocess.Popen[str], str]:
    """A process that serves the desk, and the opening link that it prints."""
    server = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert server.stdout is not None
    for text in server.stdout:
        found = re.search(r"http://\S+token=\S+", text)
        if found:
            return server, found.group(0)
    raise SystemExit("the desk did not start")


def measured(link: str) -> dict[str, Any]:
    """The latencies of a knob turned for some seconds."""
    port = free_port()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium",
            args=["--no-sandbox", "--disable-gpu", f"--remote-debugging-port={port}"],
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.add_init_script(FRAMES)
        page.goto(link)
        page.goto(f"{link.partition('/open')[0]}/items/globe-lamp/cycle")
        page.wait_for_selector("#cycle[data-shown]", timeout=60_000)
        box = page.locator(".knob-picture .knob-face").bounding_box()
        tasks = page.context.new_cdp_session(page)
        tasks.send("Performance.enable", {"timeDomain": "threadTicks"})
        with connect(debugged(port), compression=None, max_size=None, ping_interval=None) as hand:
            dragged(hand, round_about(box), 1.5)  # the first moves load what is loaded late
            page.wait_for_timeout(500)
            page.evaluate(WATCH)
            before, all_before = spent(tasks), processor_time()
            dragged(hand, round_about(box), SECONDS)
            page.wait_for_timeout(500)
            told = page.evaluate("() => lidoffWatch()")
            busy, all_busy = spent(tasks) - before, processor_time() - all_before
            scrubbed = scrub(hand, page, tasks)
        browser.close()
    found = sorted(told["found"])
    return {
        "date": date.today().isoformat(),
        "lidoff": version("lidoff"),
        "item": "globe-lamp",
        "moves": len(found),
        "moves_per_second": round(told["moves"] / SECONDS, 1),
        "drawn_per_second": round(told["drawn"] / SECONDS, 1),
        "frames_per_second": round(told["frames"] / (SECONDS + 0.5), 1),
        "median_ms": at(found, 0.5),
        "p95_ms": at(found, 0.95),
        "max_ms": at(found, 1.0),
        "never_shown": told["waiting"],
        "solver_cpu_ms": solver_cost(),
        "page_cpu_ms": round(1e3 * busy / max(told["drawn"], 1), 1),
        "all_cpu_ms": round(1e3 * all_busy / max(told["drawn"], 1), 1),
        **scrubbed,
        "load": round(os.getloadavg()[0], 2),
        "cores": os.cpu_count(),
    }


def free_port() -> int:
    """A port of this machine that nobody listens at."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


def debugged(port: int) -> str:
    """The address of the cycle page's debugging socket."""
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/json/list") as answer:
        return next(str(one["webSocketDebuggerUrl"]) for one in json.load(answer) if one["url"].endswith("/cycle"))


def processor_time() -> float:
    """Processor time until now of this process's children, the desk and the browser, and of theirs [s]."""
    ours, found = {os.getpid()}, 0.0
    for entry in sorted((one for one in Path("/proc").iterdir() if one.name.isdigit()), key=lambda one: int(one.name)):
        try:
            words = (entry / "stat").read_text().rpartition(")")[2].split()
            if int(words[1]) not in ours:
                continue
            spent = [int((task / "schedstat").read_text().split()[0]) for task in (entry / "task").iterdir()]
        except OSError:
            continue  # ended meanwhile
        ours.add(int(entry.name))
        found += 1e-9 * sum(spent)
    return found


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


def scrub(hand: Any, page: Page, tasks: Any) -> dict[str, float]:
    """The cursor drawn through the waves: frames a second, and what a move costs the page's main thread."""
    box = page.locator("#cycle-wave").bounding_box()
    assert box is not None
    page.evaluate(SCRUBBED)
    before = spent(tasks)
    dragged(hand, lambda share: (box["x"] + box["width"] * (0.2 + 0.55 * share), box["y"] + 150.0), SCRUB)
    told = page.evaluate("() => lidoffScrubbed()")
    return {
        "scrub_frames_per_second": round(told["frames"] / told["seconds"], 1),
        "scrub_p95_gap_ms": at(sorted(told["gaps"]), 0.95),
        "scrub_cpu_ms": round(1e3 * (spent(tasks) - before) / (SCRUB * RATE), 1),
    }


def round_about(box: dict[str, float]) -> Place:
    """The places round a knob's face from one end of its way to the other."""
    x, y, radius = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, 0.8 * box["width"] / 2

    def place(share: float) -> tuple[float, float]:
        angle = radians(-150.0 + 300.0 * share)
        return x + radius * sin(angle), y - radius * cos(angle)

    return place


def dragged(hand: Any, place: Place, seconds: float) -> None:
    """The mouse drawn to and fro over places with its button down, from that of share 1 to that of 0."""
    number = 0

    def mouse(kind: str, share: float, *, down: bool) -> None:
        nonlocal number
        number += 1
        x, y = place(share)
        event = {
            "type": kind,
            "x": x,
            "y": y,
            "button": "none" if kind == "mouseMoved" else "left",
            "buttons": int(down),
            "clickCount": int(kind != "mouseMoved"),
        }
        hand.send(json.dumps({"id": number, "method": "Input.dispatchMouseEvent", "params": event}))

    mouse("mouseMoved", 1.0, down=False)
    mouse("mousePressed", 1.0, down=True)
    began, count, share = time.perf_counter(), 0, 1.0
    while (now := time.perf_counter() - began) < seconds:
        share = abs(1.0 - (now / 2.0) % 2.0)  # two seconds for the whole way
        mouse("mouseMoved", share, down=True)
        count += 1
        time.sleep(max(0.0, began + count / RATE - time.perf_counter()))
    mouse("mouseReleased", share, down=False)
    for _ in range(number):
        hand.recv()  # the browser's receipts


def at(found: list[float], share: float) -> float:
    """The value below which that share lies."""
    return round(found[min(len(found) - 1, int(share * len(found)))], 1)


if __name__ == "__main__":
    main()
