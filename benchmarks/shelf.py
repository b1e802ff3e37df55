"""The shelf at size: 200 invented items worked out in full, and an index of 10,000 searched.

    python benchmarks/shelf.py            both; the result goes to benchmarks/shelf.json, the pictures to docs/pictures
    python benchmarks/shelf.py 20 1000    smaller, printed and not kept

The 200 answer two questions with a picture each. Each answer is made up again without the shelf: from the solver item
by item, and from the sightings in the files.
"""

from __future__ import annotations

import json
import platform
import statistics
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from tests.shelf.filling import filled  # noqa: E402
from tests.shelf.inventing import collection  # noqa: E402

import lidoff  # noqa: E402 - also settles where compiled code is kept
from lidoff.cycle import warm  # noqa: E402
from lidoff.shelf import (  # noqa: E402
    Step,
    add,
    bars_svg,
    count,
    find,
    picture,
    rebuild,
    understand,
)

RESULT = Path(__file__).with_name("shelf.json")
PICTURES = ROOT / "docs" / "pictures"
ITEMS, LARGE = 200, 10_000
STRIPS = "which strips flicker over 80 % and draw over 8 W"
FUSES = "how many plug fuses had no filler"
SENTENCES = (
    "strips over 8 W with flicker over 80 %",
    "night light",
    "over 8 W",
    "with a triac",
    "high risk",
    "no filler",
    "capacitor dropper with flicker over 30 % and power factor under 0.6",
    "with a 220 nF capacitor",
)


def told(step: Step) -> bool:
    """A line of progress."""
    if step.done % 10 == 0:
        print(f"\r{step.done} of {step.total} ", end="", file=sys.stderr, flush=True)
    return True


def strips_without_the_shelf(folder: Path) -> set[str]:
    """The answer to STRIPS from the solver alone."""
    found = set()
    for path in sorted(folder.glob("*/item.toml")):
        item = lidoff.open(path)
        if "strip" in item.title:
            figures = lidoff.solve(item).figures()
            if figures["light"]["percent_flicker"] > 80.0 and figures["input"]["power"] > 8.0:
                found.add(item.title)
    return found


def fuses_without_the_shelf(folder: Path) -> tuple[int, int, int]:
    """The answer to FUSES from the files alone: without filler, looked at, not looked at."""
    seen = []
    for path in folder.glob("*/item.toml"):
        record = tomllib.loads(path.read_text())
        if record["plug"]["kind"] == "BS 1363":
            answers = [one["seen"] for one in record.get("sighting", ()) if one["about"] == "plug-fuse-filler"]
            seen.append(answers[0] if answers else None)
    return seen.count("no filler"), len(seen) - seen.count(None), seen.count(None)


def invented(folder: Path, items: int, keep: bool) -> dict[str, Any]:
    """The collection worked out in full, and its two answers."""
    records = collection(folder / "records", range(items))
    index = folder / "shelf.sqlite"
    start = time.perf_counter()
    report = add(index, [records], depth="full", watch=told)
    first = time.perf_counter() - start
    start = time.perf_counter()
    again = rebuild(index)
    second = time.perf_counter() - start
    found = find(index, understand(STRIPS), limit=None)
    if {hit.title for hit in found.hits} != strips_without_the_shelf(records):
        raise SystemExit("the shelf and the solver answer differently which strips flicker")
    fuses = count(index, FUSES)
    bars = {bar.label: bar.count for bar in fuses.bars}
    if (bars["no filler"], fuses.among, bars["not looked at"]) != fuses_without_the_shelf(records):
        raise SystemExit("the shelf and the files answer differently how many fuses had no filler")
    if keep:
        asked = understand(STRIPS)
        for name, svg in (
            ("shelf-strips", picture(index, asked, paper=True)),
            ("shelf-fuses", bars_svg(fuses, paper=True)),
        ):
            (PICTURES / f"{name}.svg").write_text(svg + "\n", encoding="utf-8")
    return {
        "items": items,
        "solved": len(report.added) - len(report.unsolved),
        "seconds": round(first, 1),
        "unchanged_again": len(again.kept),
        "seconds_again": round(second, 3),
        "answers": {STRIPS: found.sentence, FUSES: fuses.sentence},
        "strips": [hit.title for hit in found.hits],
    }


def timed(doing: Callable[[], Any], times: int = 15) -> dict[str, float]:
    """The median time of doing it on the clock, and of the processor [ms]: they differ on a machine that is busy."""
    clock, processor = [], []
    for _ in range(times):
        start, busy = time.perf_counter(), time.process_time()
        doing()
        clock.append(1e3 * (time.perf_counter() - start))
        processor.append(1e3 * (time.process_time() - busy))
    return {"clock": round(statistics.median(clock), 1), "processor": round(statistics.median(processor), 1)}


def large(folder: Path, items: int) -> dict[str, Any]:
    """An index of drawn entries, filled and searched."""
    start = time.perf_counter()
    index = filled(folder / "large.sqlite", items)
    took = time.perf_counter() - start
    return {
        "items": items,
        "megabytes": round(index.stat().st_size / 1e6, 1),
        "written_per_second": round(items / took),
        "search_ms": {sentence: timed(lambda: find(index, understand(sentence))) for sentence in SENTENCES},  # noqa: B023
        "count_ms": {what: timed(lambda: count(index, what), 5) for what in ("plug-fuse-filler", "findings", "risk")},  # noqa: B023
    }


def main() -> None:
    sizes = [int(one) for one in sys.argv[1:]] or [ITEMS, LARGE]
    keep = len(sys.argv) == 1
    warm()
    with tempfile.TemporaryDirectory() as folder:
        result = {
            "date": date.today().isoformat(),
            "lidoff": lidoff.__version__,
            "machine": platform.machine(),
            "collection": invented(Path(folder), sizes[0], keep),
            "index": large(Path(folder), sizes[-1]),
        }
    text = json.dumps(result, indent=1, ensure_ascii=False)
    print(f"\r{text}")
    if keep:
        RESULT.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
