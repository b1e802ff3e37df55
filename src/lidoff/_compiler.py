"""Where compiled code is kept and how many threads the arithmetic takes, settled before numba and numpy are imported.

numba keeps the compiled form of a function under a key made of that function's own source file. A function in one file
that calls another in a second file is therefore not compiled afresh when only the second file changes: after an edit or
an upgrade it would go on answering with the old law. So the cache lies in a folder named after the content of all files
of the room that compiles; a change to any of them starts a new folder.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, MutableMapping
from hashlib import sha256
from pathlib import Path

_PREFIX = "lidoff-"


def settle(package: Path, environ: MutableMapping[str, str]) -> None:
    """Set `NUMBA_CPU_NAME`, `NUMBA_CACHE_DIR` and `OPENBLAS_NUM_THREADS` in `environ` for the package in that folder.

    The processor is the generic one of its architecture unless the user has set another: the same code then runs on
    all of them, and a cache made elsewhere is used. The cache lies under the folder the user has set, else beside the
    source where that can be written, else in the user's cache folder. Sums over waves are too short to be shared out:
    on a busy machine the threads only wait for one another (measured: all faults of a charger 45 s against 25 s).
    """
    environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    environ.setdefault("NUMBA_CPU_NAME", "generic")
    name = _PREFIX + _digest(package / "cycle")
    chosen = environ.get("NUMBA_CACHE_DIR")
    if chosen and Path(chosen).name == name:
        return  # set by a parent process
    environ["NUMBA_CACHE_DIR"] = str(_base(package, environ) / name)


def announcement(environ: Mapping[str, str]) -> str | None:
    """The line to show before a wait for the compiler; None where compiled code is there already."""
    if Path(environ["NUMBA_CACHE_DIR"]).is_dir():
        return None
    return "Compiling the solver, once (half a minute or so) …"


def forget_older(cache: Path) -> None:
    """Remove the folders beside `cache` that older sources left behind."""
    import shutil

    for folder in cache.parent.glob(_PREFIX + "*"):
        if folder != cache:
            shutil.rmtree(folder, ignore_errors=True)


def _digest(folder: Path) -> str:
    total = sha256()
    for file in sorted(folder.rglob("*.py")):
        total.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return total.hexdigest()[:16]


def _base(package: Path, environ: MutableMapping[str, str]) -> Path:
    if environ.get("NUMBA_CACHE_DIR"):
        return Path(environ["NUMBA_CACHE_DIR"])
    beside = package / "cycle" / "__pycache__"
    home = environ.get("XDG_CACHE_HOME") or environ.get("LOCALAPPDATA")
    own = Path(home) if home else Path(os.path.expanduser("~")) / ".cache"  # noqa: PTH111 - never raises, unlike Path.home
    for folder in (beside, own / "lidoff"):
        if _writable(folder):
            return folder
    import atexit
    import shutil
    import tempfile

    # Nowhere to keep it: compile anew in each process rather than fail, in a folder nobody else can write to.
    passing = Path(tempfile.mkdtemp(prefix=_PREFIX))
    atexit.register(shutil.rmtree, passing, ignore_errors=True)
    return passing


def _writable(folder: Path) -> bool:
    """Whether `folder` can be written or made, without making it."""
    try:
        while not folder.exists():
            if folder == folder.parent:
                return False
            folder = folder.parent
    except OSError:  # a folder above it may not be entered
        return False
    return folder.is_dir() and os.access(folder, os.W_OK | os.X_OK)
