"""Tracing on boards whose pieces are known: the open data's, twenty rendered ones, and pairs of scans.

    LIDOFF_OPEN_DATA=... python benchmarks/trace.py          everything; one line is added to history_trace.jsonl
    python benchmarks/trace.py --boards                      the rendered boards alone; nothing is kept

For each board: pieces exactly right before any question, questions a person with a meter was asked, pieces right after
them, joins accepted between pads that are not joined, true joins missing at the end, and whether the picture was
refused. The person's answers come from the known pieces and are never wrong. Then the time and the memory that the
command takes for a photo of twelve megapixels, and what one answer takes.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from tests.photos import scans  # noqa: E402
from tests.photos.boards.paint import Shot, photograph  # noqa: E402
from tests.photos.boards.plan import routed  # noqa: E402
from tests.photos.boards.twenty import twenty  # noqa: E402
from tests.photos.trial import LASER_POP, REGISTERED, registered, tried  # noqa: E402

from lidoff.photos.pads import Pad  # noqa: E402
from lidoff.photos.picture import open_upright  # noqa: E402
from lidoff.photos.tracing import trace_copper  # noqa: E402

# The command with its processor time [s] and the most memory it had [kB] at the end of standard error. A child's
# figures as its parent sees them have the parent's own memory in them.
WATCHED = """
import atexit, re, sys, time
from pathlib import Path
def tell():
    held = re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text()).group(1)
    print(time.process_time(), held, file=sys.stderr)
atexit.register(tell)
from lidoff.cli import main
sys.exit(main())
"""
HISTORY = Path(__file__).with_name("history_trace.jsonl")


def main() -> None:
    boards = rendered()
    if "--boards" in sys.argv:
        return
    data = os.environ.get("LIDOFF_OPEN_DATA")
    photos = Path(data) / "photos" if data else None
    line: dict[str, Any] = {
        "date": date.today().isoformat(),
        "lidoff": version("lidoff"),
        "python": platform.python_version(),
        "packages": {name: version(name) for name in ("numpy", "opencv-python-headless", "scikit-image")},
        "rendered": boards,
        "large": large(),
    }
    if photos is None:
        print("LIDOFF_OPEN_DATA is not set: the photographs and the scans are left out.")
    else:
        line["photographs"] = photographs(photos)
        line["scans"] = scanned(photos / "scan_pairs")
    with HISTORY.open("a") as out:
        out.write(json.dumps(line) + "\n")


def shown(name: str, figures: dict[str, Any]) -> None:
    said = "refused" if figures["refused"] else f"{figures['exact']} of {figures['pieces']} pieces"
    print(
        f"{name:18} {figures['pads']:4d} pads  unasked {figures['exact_unasked']:3d}  asked {figures['asked']:3d}  "
        f"{said}  wrong {figures['wrong_joins']}  missing {figures['missing_joins']}  {figures['seconds']:.1f} s",
        flush=True,
    )


def rendered() -> dict[str, Any]:
    """The twenty boards of tests/photos/boards."""
    held: dict[str, Any] = {}
    for plan, shot in twenty():
        photo = photograph(plan, shot)
        start = time.process_time()
        outcome = tried(photo.rgb, photo.pads, photo.pieces)
        held[shot.name] = {
            "px_per_mm": shot.px_per_mm,
            **outcome.figures(),
            "seconds": round(time.process_time() - start, 1),
        }
        shown(shot.name, held[shot.name])
    return held


def photographs(folder: Path) -> dict[str, Any]:
    """The boards of the open data that have registered pads."""
    held: dict[str, Any] = {}
    for name in REGISTERED:
        rgb, pads, pieces = registered(folder / name)
        start = time.process_time()
        outcome = tried(rgb, pads, pieces)
        held[name] = {**outcome.figures(), "seconds": round(time.process_time() - start, 1)}
        shown(name, held[name])
    rgb = np.asarray(open_upright(folder / "laser_pop" / "photo.jpg", longest=None))
    traced = trace_copper(rgb, [Pad(id=name, x=x, y=y) for name, (x, y) in LASER_POP.items()])
    held["laser_pop"] = {
        "pads": len(LASER_POP),
        "refused": traced.refused is not None,
        "accepted": sum(one.status == "accepted" for one in traced.joins.joins),
    }
    print("laser_pop", held["laser_pop"], flush=True)
    return held


def scanned(folder: Path) -> dict[str, Any]:
    """Opens and shorts in the pairs of scans, by pair and by published box."""
    pairs = {scans.OPEN: [0, 0, 0], scans.SHORT: [0, 0, 0]}  # rightly found, there, found though not there
    boxes = {scans.OPEN: [0, 0], scans.SHORT: [0, 0]}
    for name in scans.names(folder):
        pair = scans.read(folder, name)
        seen = scans.found(pair)
        there = {kind for *_, kind in pair.boxes}
        for kind, counts in pairs.items():
            counts[0] += kind in there and kind in seen.kinds
            counts[1] += kind in there
            counts[2] += kind in seen.kinds and kind not in there
        for number, (*_, kind) in enumerate(pair.boxes):
            if kind in boxes:
                boxes[kind][0] += number in seen.boxes
                boxes[kind][1] += 1
    named = {scans.OPEN: "open", scans.SHORT: "short"}
    held = {
        named[kind]: {
            "pairs_found": pairs[kind][0],
            "pairs": pairs[kind][1],
            "pairs_false": pairs[kind][2],
            "boxes_found": boxes[kind][0],
            "boxes": boxes[kind][1],
        }
        for kind in named
    }
    print(held)
    return held


def large() -> dict[str, Any]:
    """A photo of twelve megapixels through the command, by the clock and by its memory; then one answer."""
    plan = routed(7, width=62, height=46, grid=0.6, track=0.34, pads=110, nets=40, pad=1.4, drill=0.8, share_flat=0.3)
    photo = photograph(plan, Shot(name="large", seed=7, px_per_mm=50, metal="copper", blur=1.2, noise=0.015))
    with tempfile.TemporaryDirectory() as folder:
        picture, pads = Path(folder) / "board.jpg", Path(folder) / "pads.json"
        picture.write_bytes(photo.jpeg)
        pads.write_text(json.dumps([{"id": name, "x": x, "y": y} for name, (x, y) in photo.pads.items()]))
        start = time.perf_counter()
        told = subprocess.run(
            [sys.executable, "-c", WATCHED, "trace", "--photo", str(picture), "--pads", str(pads), "--json"],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        clock = time.perf_counter() - start
    processor, memory = told.stderr.split()[-2:]
    traced = trace_copper(photo.rgb, [Pad(id=name, x=x, y=y) for name, (x, y) in photo.pads.items()])
    start = time.perf_counter()
    traced.joins.answer(next(iter(photo.pads)), list(photo.pads)[-1], joined=False)
    answer = time.perf_counter() - start
    held = {
        "megapixels": round(photo.rgb.shape[0] * photo.rgb.shape[1] / 1e6, 1),
        "pads": len(photo.pads),
        "seconds": round(clock, 1),
        "processor_seconds": round(float(processor), 1),
        "memory_mb": round(int(memory) / 1024),
        "answer_ms": round(answer * 1000, 1),
    }
    print(held, flush=True)
    return held


if __name__ == "__main__":
    main()
