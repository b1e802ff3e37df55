"""Opening the index: what is not ours, newer, cut short or damaged is refused and left as it is.

The header of the file is looked at before the library may touch it. Readers open it read-only; several may read while
one writes (write-ahead logging, https://sqlite.org/wal.html). A new index is made under another name and then linked
into its place, so that a half-made one is never found there and a file that lies there is never written over.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from lidoff.shelf.errors import ShelfError
from lidoff.shelf.schema import APPLICATION_ID, MIGRATIONS, TABLES, VERSION

# https://sqlite.org/fileformat2.html, 1.3 "The Database Header".
_MAGIC: Final = b"SQLite format 3\0"
_HEADER: Final = 100
_PAGE_SIZE, _CHANGES, _PAGES, _USER_VERSION, _APPLICATION_ID, _VALID_FOR = 16, 24, 28, 60, 68, 92
_LEAVE: Final = "it was left as it is; move it away, or name another place with --shelf"
_WAIT: Final = 5.0  # [s] for whoever else is writing


def version_of(index: Path) -> int:
    """The version in the header of an index. Raises ShelfError where the file is none of ours, newer or cut short."""
    try:
        with index.open("rb") as stream:
            head, size = stream.read(_HEADER), os.fstat(stream.fileno()).st_size
    except FileNotFoundError:
        raise ShelfError(f"{index}: there is no shelf yet; begin one with: lidoff shelf add FOLDER") from None
    except OSError as error:
        raise ShelfError(f"{index}: cannot be read: {error.strerror or error}.") from error
    if len(head) < _HEADER or not head.startswith(_MAGIC):
        raise ShelfError(f"{index}: this is not the index of a shelf; {_LEAVE}.")
    if _number(head, _APPLICATION_ID) != APPLICATION_ID:
        raise ShelfError(f"{index}: this is the database of another program; {_LEAVE}.")
    _refuse_newer(index, _number(head, _USER_VERSION))
    page = int.from_bytes(head[_PAGE_SIZE : _PAGE_SIZE + 2], "big")
    pages = _number(head, _PAGES)
    known = _number(head, _CHANGES) == _number(head, _VALID_FOR)
    if known and not _has_log(index) and size < (65536 if page == 1 else page) * pages:
        raise _damaged(index, "it is cut short")
    return _number(head, _USER_VERSION)


def _number(head: bytes, at: int) -> int:
    return int.from_bytes(head[at : at + 4], "big")


def _has_log(index: Path) -> bool:
    """Whether changes wait beside the file to be taken into it."""
    try:
        return index.with_name(f"{index.name}-wal").stat().st_size > 0
    except OSError:
        return False


def _refuse_newer(index: Path, version: int) -> None:
    if version > VERSION:
        raise ShelfError(
            f"{index}: this index has version {version} and this program knows versions up to {VERSION}; {_LEAVE}, or "
            "use a newer Lidoff."
        )
    if version < 1:
        raise _damaged(index, "it carries no version")


def _damaged(index: Path, why: str) -> ShelfError:
    # What the library says may quote bytes of the file: only what can be printed of it, on one line.
    said = " ".join("".join(one if one.isprintable() else " " for one in why).split())
    return ShelfError(
        f"{index}: the index is damaged ({said[:200]}) and was left as it is; move it away and run: "
        "lidoff shelf rebuild"
    )


@contextmanager
def reading(index: Path) -> Iterator[sqlite3.Connection]:
    """A connection that can only read, in one consistent view. Raises ShelfError for what cannot be read as a shelf.

    An index of an older version is brought up to date first, where it can be written.
    """
    if version_of(index) < VERSION:
        with writing(index):
            pass
    with closing(_open_to_read(index)) as connection, _said(index):
        _check_tables(index, connection)
        connection.execute("BEGIN")
        yield connection


def _open_to_read(index: Path) -> sqlite3.Connection:
    with _said(index):
        try:
            return _connected(index, "mode=ro")
        except sqlite3.OperationalError:
            # In a folder that cannot be written the library cannot set up its log; without changes waiting, none is
            # needed.
            if _has_log(index):
                raise
            return _connected(index, "mode=ro&immutable=1")


def _connected(index: Path, how: str) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{index.absolute().as_uri()}?{how}", uri=True, isolation_level=None, timeout=_WAIT, check_same_thread=False
    )
    try:
        for setting in ("trusted_schema = OFF", "cell_size_check = ON", "foreign_keys = ON", "synchronous = NORMAL"):
            connection.execute(f"PRAGMA {setting}")
        if "mode=ro" in how:
            connection.execute("PRAGMA query_only = ON")
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _check_tables(index: Path, connection: sqlite3.Connection) -> None:
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    _refuse_newer(index, version)
    there = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    missing = sorted(set(TABLES) - there)
    if missing:
        raise _damaged(index, f"it has no table “{missing[0]}”")


@contextmanager
def writing(index: Path) -> Iterator[sqlite3.Connection]:
    """A connection that writes, to an index that is made where there is none and brought up to date where it is older.

    Changes are made within `change`. Raises ShelfError for what cannot be used as a shelf, before anything is changed.
    """
    if not index.exists():
        _make(index)
    version_of(index)
    with closing(_open_to_read(index)) as probe, _said(index):
        _refuse_newer(index, probe.execute("PRAGMA user_version").fetchone()[0])
        (found,) = probe.execute("PRAGMA quick_check(1)").fetchone()
        if found != "ok":
            raise _damaged(index, found.splitlines()[-1].strip("* "))
    with _said(index):
        opened = _connected(index, "mode=rw")
    with closing(opened) as connection, _said(index):
        _bring_up_to_date(index, connection)
        _check_tables(index, connection)
        yield connection


@contextmanager
def change(connection: sqlite3.Connection) -> Iterator[None]:
    """What is done within stands altogether or not at all."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def _make(index: Path) -> None:
    beside = index.with_name(f".{index.name}.{os.getpid()}.new")
    try:
        index.parent.mkdir(parents=True, exist_ok=True)
        beside.unlink(missing_ok=True)
        with closing(sqlite3.connect(beside, isolation_level=None)) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            with change(connection):
                _run(connection, 0)
        _put(beside, index)
    except FileExistsError:
        pass  # another one was quicker, and as good
    except OSError as error:
        raise ShelfError(f"{index}: no shelf can be begun here: {error.strerror or error}.") from error
    except sqlite3.Error as error:
        raise ShelfError(f"{index}: no shelf can be begun here: {error}.") from error
    finally:
        beside.unlink(missing_ok=True)


def _put(beside: Path, index: Path) -> None:
    """Gives a file its name. Raises FileExistsError where that is taken."""
    try:
        os.link(beside, index)
    except FileExistsError:
        raise
    except OSError:
        # A file system without links, such as those of memory sticks.
        if index.exists():
            raise FileExistsError(index) from None
        beside.rename(index)


def _bring_up_to_date(index: Path, connection: sqlite3.Connection) -> None:
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    _refuse_newer(index, version)
    if version == VERSION:
        return
    with change(connection):
        # Asked again behind the lock: another program may have done it meanwhile.
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        _refuse_newer(index, version)
        _run(connection, version)


def _run(connection: sqlite3.Connection, version: int) -> None:
    for migration in MIGRATIONS[version:]:
        for statement in migration.statements:
            connection.execute(statement)
    connection.execute(f"PRAGMA user_version = {VERSION}")


@contextmanager
def _said(index: Path) -> Iterator[None]:
    """Turns what the library says into one sentence for people."""
    try:
        yield
    except sqlite3.OperationalError as error:
        name = getattr(error, "sqlite_errorname", "") or ""
        if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            raise ShelfError(f"{index}: another program is writing to the shelf; try again in a moment.") from error
        if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
            raise ShelfError(f"{index}: the shelf cannot be written here; name another place with --shelf.") from error
        if name.startswith(("SQLITE_FULL", "SQLITE_IOERR")):
            raise ShelfError(f"{index}: the disk is full or failing: {error}.") from error
        raise _damaged(index, str(error)) from error
    except (sqlite3.DatabaseError, UnicodeDecodeError, OverflowError) as error:
        raise _damaged(index, str(error)) from error
