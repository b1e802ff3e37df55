"""2,000 random circuits of the trade: each settles with its energy in balance, or says that it did not.

    make soak                       all of them; the result goes to benchmarks/soak.json
    python benchmarks/soak.py 0 50  seeds 0 to 49 only, printed and not kept

Every seed of `tests/cycle/growing.py` is solved in a worker process that is ended when a solve takes longer than
LIMIT. Nothing of the solver's own bookkeeping is trusted: the balance is made up again from the printed figures, the
input's power against the sum of the parts' powers.
"""

from __future__ import annotations

import json
import math
import multiprocessing as mp
import platform
import sys
import time
from collections import Counter
from collections.abc import Iterator
from datetime import date
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from tests.cycle.growing import grown  # noqa: E402

import lidoff  # noqa: E402 - also settles where compiled code is kept
from lidoff.circuit import CircuitError  # noqa: E402
from lidoff.cycle import solve, warm  # noqa: E402

SEEDS = 2000
LIMIT = 60.0  # [s] after which a solve counts as hanging
BALANCE = 5e-3  # share of the input
LEAST = 1e-3  # [W] an input smaller than this is taken as this: a shelf of leaks is not a product
RESULT = Path(__file__).with_name("soak.json")

GOOD = ("settled", "rhythm", "said it does not settle", "refused")


def numbers(value: Any) -> Iterator[float]:
    """All numbers in a document of figures."""
    if isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, float):
        yield value


def unbalance(figures: dict[str, Any]) -> float:
    """Input power less the sum of the parts' powers, share of the input (or of 2 % of its volt-amperes, or LEAST)."""
    entry = figures["input"]
    missing = entry["power"] - sum(row["power"] for row in figures["parts"].values())
    return float(missing / max(abs(entry["power"]), 0.02 * entry["apparent_power"], LEAST))


def nothing(seed: int) -> dict[str, Any]:
    """The row of a seed of which nothing is known yet."""
    return {"seed": seed, "cycles": 0, "steps": 0, "watts": 0.0, "unbalance": 0.0, "note": ""}


def outcome(seed: int) -> dict[str, Any]:
    """What becomes of one seed."""
    told = nothing(seed)
    try:
        solution = solve(grown(seed))
        figures = solution.figures()
    except CircuitError as error:
        return told | {"what": "refused", "note": str(error)}
    except Exception as error:  # the very thing that is looked for
        return told | {"what": "crash", "note": f"{type(error).__name__}: {error}"}
    told |= {
        "cycles": solution.run.run,
        "steps": figures["solver"]["steps"],
        "watts": figures["input"]["power"],
        "unbalance": unbalance(figures),
    }
    if not all(math.isfinite(number) for number in numbers(figures)):
        return told | {"what": "not a number"}
    if not figures["settled"]:
        said = bool(figures["warnings"])
        return told | {"what": "said it does not settle" if said else "silent about not settling"}
    if abs(told["unbalance"]) > BALANCE:
        return told | {"what": "out of balance"}
    return told | {"what": "settled" if figures["cycles"] == 1 else "rhythm"}


def _work(seeds: range, out: Connection) -> None:
    warm()
    out.send(None)
    for seed in seeds:
        out.send(outcome(seed))
    out.close()


def run(seeds: range) -> Iterator[dict[str, Any]]:
    """The outcome of each seed, in order."""
    context = mp.get_context("spawn")
    here = seeds.start
    while here < seeds.stop:
        end, other = context.Pipe(duplex=False)
        worker = context.Process(target=_work, args=(range(here, seeds.stop), other), daemon=True)
        worker.start()
        other.close()
        try:
            end.recv()  # compiled
            while here < seeds.stop:
                if not end.poll(LIMIT):
                    yield nothing(here) | {"what": "hang"}
                    here += 1
                    break
                yield end.recv()
                here += 1
        except EOFError:  # the worker died
            yield nothing(here) | {"what": "crash", "note": "process ended"}
            here += 1
        finally:
            worker.kill()
            worker.join()


def summary(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """What is kept of a run."""
    counts = Counter(row["what"] for row in rows)
    settled = sorted(abs(row["unbalance"]) for row in rows if row["what"] in ("settled", "rhythm"))
    cycles = sorted(row["cycles"] for row in rows if row["cycles"])
    return {
        "date": date.today().isoformat(),
        "lidoff": lidoff.__version__,
        "python": platform.python_version(),
        "seeds": len(rows),
        "outcomes": dict(sorted(counts.items())),
        "failures": [
            {
                "seed": row["seed"],
                "what": row["what"],
                "watts": float(f"{row['watts']:.3g}"),
                "unbalance": float(f"{row['unbalance']:.3g}"),
                "note": row["note"],
            }
            for row in rows
            if row["what"] not in GOOD
        ],
        "refused": [{"seed": row["seed"], "note": row["note"]} for row in rows if row["what"] == "refused"],
        "unbalance": {
            "median": float(f"{settled[len(settled) // 2]:.2g}"),
            "p99": float(f"{settled[int(0.99 * len(settled))]:.2g}"),
            "largest": float(f"{settled[-1]:.2g}"),
        },
        "cycles_run": {
            "median": cycles[len(cycles) // 2],
            "p99": cycles[int(0.99 * len(cycles))],
            "most": cycles[-1],
        },
    }


def main(words: list[str]) -> int:
    seeds = range(int(words[0]), int(words[1])) if words else range(SEEDS)
    begun = time.monotonic()
    rows = []
    for row in run(seeds):
        rows.append(row)
        if row["what"] not in GOOD:
            print(f"\r{row['seed']:5d}  {row['what']}  {row['unbalance']:+.2%} of {row['watts']:.3g} W  {row['note']}")
        if sys.stderr.isatty() and len(rows) % 20 == 0:
            print(f"\r{len(rows)} of {len(seeds)}", end="", file=sys.stderr)
    told = summary(rows)
    print(f"\n{len(rows)} circuits in {time.monotonic() - begun:.0f} s")
    for what, count in told["outcomes"].items():
        print(f"  {count:5d}  {what}")
    print(f"  energy of the settled ones out of balance: {told['unbalance']}")
    print(f"  cycles run: {told['cycles_run']}")
    if not words:
        RESULT.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    return 1 if told["failures"] else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
