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
    from lidoff._compiler import forget_older

    cache = Path(os.environ["NUMBA_CACHE_DIR"])
    # A cached solver loads in well under a second: then there is nothing to announce.
    if not cache.is_dir():
        print("Compiling the solver, once (up to a minute) …", file=sys.stderr, flush=True)
    started = time.perf_counter()
    from lidoff.cycle import warm

    warm()
    forget_older(cache)
    print(f"Solver ready in {time.perf_counter() - started:.1f} s ({cache}).", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
