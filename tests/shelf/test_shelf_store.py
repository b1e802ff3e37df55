"""What is not ours, newer, cut short or damaged is refused in one sentence and left byte for byte as it was."""

from __future__ import annotations

import os
import shutil
import sqlite3
import struct
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.shelf.conftest import Worker, digest

from lidoff.shelf import ShelfError, add, compare, count, find, forget, rebuild, understand
from lidoff.shelf.entry import Entry
from lidoff.shelf.indexing import write_entry
from lidoff.shelf.measures import MEASURES
from lidoff.shelf.schema import APPLICATION_ID, MIGRATIONS, VERSION
from lidoff.shelf.store import change, reading, version_of, writing

FIRST = Path(__file__).parent / "files" / "version-1.sqlite"

# Everything that one may do with a shelf; each has to refuse an index that it cannot use.
DOINGS: dict[str, Callable[[Path, Path], object]] = {
    "find": lambda index, _: find(index, understand("strips over 8 W")),
    "count": lambda index, _: count(index, "risk"),
    "compare": lambda index, _: compare(index, ["1", "2"]),
    "add": lambda index, records: add(index, [records], work=Worker()),
    "rebuild": lambda index, _: rebuild(index, work=Worker()),
    "forget": forget,
}


def empty(path: Path) -> None:
    path.write_bytes(b"")


def prose(path: Path) -> None:
    path.write_text("Dear diary, today I opened a lamp. " * 40)


def foreign(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE item (mine TEXT)")
        connection.execute("INSERT INTO item VALUES ('not to be lost')")
        connection.commit()


def newer(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE item (later TEXT)")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION + 1}")
        connection.commit()


def cut_short(path: Path) -> None:
    whole = FIRST.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


def only_the_header(path: Path) -> None:
    path.write_bytes(FIRST.read_bytes()[:100])


def without_tables(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE item (id INTEGER PRIMARY KEY)")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.commit()


def noise_inside(path: Path) -> None:
    data = bytearray(FIRST.read_bytes())
    data[4096 * 2 : 4096 * 9] = os.urandom(4096 * 7)
    path.write_bytes(data)


SPOILT = {
    empty: "not the index of a shelf",
    prose: "not the index of a shelf",
    foreign: "database of another program",
    newer: "use a newer Lidoff",
    cut_short: "cut short",
    only_the_header: "cut short",
    without_tables: "has no table",
    noise_inside: "damaged",
}


@pytest.mark.parametrize("doing", DOINGS)
@pytest.mark.parametrize("spoil", SPOILT, ids=lambda one: one.__name__)
def test_what_cannot_be_used_is_refused_and_left_alone(
    spoil: Callable[[Path], None], doing: str, index: Path, records: Path
) -> None:
    index.parent.mkdir()
    spoil(index)
    before = digest(index)
    with pytest.raises(ShelfError) as refused:
        DOINGS[doing](index, records)
    assert SPOILT[spoil] in str(refused.value)
    assert "left as it" in str(refused.value)
    assert len(str(refused.value).splitlines()) == 1
    assert str(index) in str(refused.value)
    assert digest(index) == before
    assert [one.name for one in index.parent.iterdir() if not one.name.startswith(index.name)] == []


@pytest.fixture(scope="module")
def current(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An index of this version with four items in it."""
    path = tmp_path_factory.mktemp("current") / "shelf.sqlite"
    shutil.copy(FIRST, path)
    with writing(path):
        pass
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@given(
    places=st.lists(st.tuples(st.floats(0.0, 1.0, exclude_max=True), st.integers(0, 255)), min_size=1, max_size=40),
    doing=st.sampled_from(["find", "count", "compare"]),
)
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_flipped_bytes_give_an_answer_or_one_sentence(
    current: Path, places: list[tuple[float, int]], doing: str
) -> None:
    """Whatever is wrong in it: no crash, no other exception, and a reader changes no byte."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shelf.sqlite"
        data = bytearray(current.read_bytes())
        for share, value in places:
            data[int(share * len(data))] = value
        path.write_bytes(data)
        before = digest(path)
        said = ""
        try:
            DOINGS[doing](path, Path(folder))
        except ShelfError as error:
            said = str(error)
        assert len(said.splitlines()) <= 1
        # A reader brings an older index up to date; one of this version it only reads.
        if struct.unpack(">I", data[60:64])[0] == VERSION:
            assert digest(path) == before


@given(length=st.integers(0, 200_000))
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_an_index_cut_anywhere_is_refused(current: Path, length: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shelf.sqlite"
        whole = current.read_bytes()
        path.write_bytes(whole[:length])
        before = digest(path)
        if length >= len(whole):
            assert find(path).total == 4
        else:
            with pytest.raises(ShelfError, match=r"left as it|damaged"):
                find(path)
        assert digest(path) == before


# Versions ------------------------------------------------------------------------------------------------------------


def test_the_first_version_is_brought_up_to_date_with_all_it_held(tmp_path: Path) -> None:
    path = tmp_path / "shelf.sqlite"
    shutil.copy(FIRST, path)
    with closing(sqlite3.connect(f"{FIRST.as_uri()}?mode=ro&immutable=1", uri=True)) as old:
        figures = old.execute("SELECT item_id, state_id, name, value, low, high FROM figure").fetchall()
        heads = old.execute("SELECT id, title, fingerprint FROM item ORDER BY id").fetchall()
    assert len(figures) > 40
    assert version_of(path) == 1
    assert find(path).total == len(heads)  # a reader brings it up to date
    with reading(path) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (VERSION,)
        assert connection.execute("SELECT id, title, fingerprint FROM item ORDER BY id").fetchall() == heads
        for item, state, name, value, low, high in figures:
            table, key = ("item", item) if state is None else ("state", state)
            assert connection.execute(f'SELECT "{name}" FROM {table} WHERE id = ?', (key,)).fetchone() == (value,)
            if state is not None and low is not None:
                span = connection.execute("SELECT low, high FROM span WHERE state_id = ? AND name = ?", (state, name))
                assert span.fetchone() == (low, high)


def test_every_version_brought_up_to_date_has_the_tables_of_a_new_one(tmp_path: Path) -> None:
    def tables(path: Path) -> dict[str, list[tuple[object, ...]]]:
        with reading(path) as connection:
            names = [name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
            return {name: connection.execute(f"PRAGMA table_info({name})").fetchall() for name in sorted(names)}

    old, new = tmp_path / "old.sqlite", tmp_path / "new.sqlite"
    shutil.copy(FIRST, old)
    with writing(old), writing(new):
        pass
    assert tables(old) == tables(new)
    assert len(MIGRATIONS) == VERSION
    assert len({one.name for one in MIGRATIONS}) == VERSION


def test_a_failed_step_leaves_the_old_version_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from lidoff.shelf import store
    from lidoff.shelf.schema import Migration

    path = tmp_path / "shelf.sqlite"
    shutil.copy(FIRST, path)
    broken = Migration(name="broken", statements=("ALTER TABLE item ADD COLUMN later TEXT", "NO SUCH STATEMENT"))
    monkeypatch.setattr(store, "MIGRATIONS", (MIGRATIONS[0], broken))
    with pytest.raises(ShelfError):
        find(path)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)
        assert "later" not in [row[1] for row in connection.execute("PRAGMA table_info(item)")]
        assert connection.execute("SELECT count(*) FROM figure").fetchone()[0] > 40


def test_every_figure_has_its_column(index: Path) -> None:
    with writing(index) as connection:
        columns = {
            table: {row[1] for row in connection.execute(f"PRAGMA table_info({table})")} for table in ("item", "state")
        }
    for one in MEASURES:
        assert one.name in columns["item" if one.of_item else "state"], one.name


def test_tables_are_strict_and_bound_to_their_item(index: Path) -> None:
    with writing(index) as connection:
        with pytest.raises(sqlite3.IntegrityError), change(connection):
            connection.execute("INSERT INTO part VALUES (99, 'R1', 'resistor', '', 1.0, '', NULL, NULL)")
        with change(connection):
            write_entry(connection, Path("/x/item.toml"), Entry(status="solved", depth="quick", title="x",
                        words={"title": "x"}), "", None)  # fmt: skip
        with pytest.raises(sqlite3.IntegrityError), change(connection):
            connection.execute("INSERT INTO part VALUES (1, 'R1', 'resistor', '', 'much', '', NULL, NULL)")
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


# Others at the same time, and places that cannot be written ---------------------------------------------------------


def test_a_locked_index_is_said_and_not_waited_for_for_ever(
    index: Path, records: Path, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    from lidoff.shelf import store

    add(index, [records], work=worker)
    monkeypatch.setattr(store, "_WAIT", 0.05)
    with closing(sqlite3.connect(index, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(ShelfError, match="another program is writing"):
            forget(index, records)
        assert find(index).total == 4  # readers do not mind
        other.execute("ROLLBACK")
    assert find(index).total == 4


def test_readers_see_whole_items_while_one_writes(index: Path, records: Path, worker: Worker) -> None:
    """Each reader's view is one in time: as many words as items, whatever is being written meanwhile."""
    add(index, [records], work=worker)
    ended = threading.Event()
    counts: list[list[int]] = [[], []]
    wrong: list[object] = []

    def read(mine: list[int]) -> None:
        while not ended.is_set():
            try:
                with reading(index) as connection:
                    items = connection.execute("SELECT count(*) FROM item").fetchone()[0]
                    words = connection.execute("SELECT count(*) FROM words").fetchone()[0]
            except Exception as error:
                wrong.append(error)
                return
            mine.append(items)
            if items != words:
                wrong.append((items, words))

    readers = [threading.Thread(target=read, args=(mine,)) for mine in counts]
    for reader in readers:
        reader.start()
    with writing(index) as connection:
        for number in range(60):
            with change(connection):
                write_entry(connection, Path(f"/drawn/{number}/item.toml"), Entry(status="solved", depth="quick",
                            title=f"drawn {number}", words={"title": f"drawn {number}"}), "", None)  # fmt: skip
    ended.set()
    for reader in readers:
        reader.join()
    assert wrong == []
    for mine in counts:
        assert mine
        assert mine == sorted(mine)
    assert find(index).total == 64


@contextmanager
def without_rights(folder: Path) -> Iterator[None]:
    """The folder cannot be written: its rights are taken away, and root becomes nobody for the time being."""
    mode = folder.stat().st_mode
    folder.chmod(0o555)
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(mode)


@pytest.mark.skipif(os.name != "posix", reason="rights of folders as POSIX has them")
def test_a_folder_that_cannot_be_written_can_be_read(records: Path, worker: Worker) -> None:
    folder = Path(tempfile.mkdtemp(prefix="lidoff-shelf-"))  # not pytest's own folder, into which nobody else may look
    folder.chmod(0o755)
    try:
        index = folder / "shelf.sqlite"
        add(index, [records], work=worker)
        shutil.copy(records / "item-000" / "item.toml", folder / "lone.toml")
        index.chmod(0o444)
        before = digest(index)
        with without_rights(folder):
            assert find(index).total == 4
            with pytest.raises(ShelfError, match=r"cannot be written") as refused:
                forget(index, records)
            assert len(str(refused.value).splitlines()) == 1
            with pytest.raises(ShelfError, match=r"cannot be written|no shelf can be begun"):
                add(folder / "other" / "shelf.sqlite", [folder / "lone.toml"], work=worker)
        assert digest(index) == before
        assert find(index).total == 4
    finally:
        shutil.rmtree(folder)


def test_there_is_no_shelf_yet(index: Path) -> None:
    for doing in ("find", "count", "compare", "rebuild"):
        with pytest.raises(ShelfError, match="there is no shelf yet"):
            DOINGS[doing](index, index.parent)
    assert not index.exists()


def test_a_half_made_index_is_never_found(index: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new index is made under another name: what fails on the way leaves nothing behind."""
    from lidoff.shelf import store

    def fail(*_: object) -> None:
        raise sqlite3.OperationalError("the power went")

    monkeypatch.setattr(store, "_run", fail)
    with pytest.raises(ShelfError, match="no shelf can be begun"), writing(index):
        pass
    assert list(index.parent.iterdir()) == []
