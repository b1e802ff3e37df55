"""`python -m lidoff.warm` compiles the solver once, so that the first solution does not wait for it.

Run in set-up; harmless at any time.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path


def main() -> int:
    """Compile what is not compiled yet, with a line before and after on standard error; exit status 0."""
    from lidoff._compiler import announcement, forget_older

    if line := announcement(os.environ):
        print(line, file=sys.stderr, flush=True)
    started = time.perf_counter()
    from lidoff.cycle import warm

    warm()
    cache = Path(os.environ["NUMBA_CACHE_DIR"])
    forget_older(cache)
    print(f"Solver ready in {time.perf_counter() - started:.1f} s ({cache}).", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
