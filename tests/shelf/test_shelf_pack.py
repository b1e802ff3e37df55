"""An item in one file and back byte for byte; whatever is wrong with the file, nothing is left behind."""

from __future__ import annotations

import hashlib
import io
import json
import os
import stat
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.shelf.inventing import invented

from lidoff.record import RecordError
from lidoff.shelf import PackError, pack, unpack
from lidoff.shelf import packing as packing_room
from lidoff.shelf.pack_names import checked, folded, refusal
from lidoff.shelf.packing import LIST


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


@pytest.fixture
def record(tmp_path: Path) -> Path:
    folder = tmp_path / "strip"
    (folder / "photos").mkdir(parents=True)
    (folder / "item.toml").write_text(invented(3), newline="\n")
    (folder / "photos" / "board.jpg").write_bytes(bytes(range(256)) * 40)
    (folder / "photos" / "Größe.jpg").write_bytes(b"")
    return folder


def test_a_round_trip_gives_the_same_bytes(record: Path, tmp_path: Path) -> None:
    packed = pack(record)
    assert packed.file == tmp_path / "strip.lidoff.zip"
    back = unpack(packed.file, tmp_path / "back")
    assert tree(back.folder) == tree(record)
    assert back.record == tmp_path / "back" / "item.toml"
    assert back.warnings == ()
    assert zipfile.ZipFile(packed.file).testzip() is None  # any other program reads it too


def test_the_same_folder_gives_the_same_file(record: Path, tmp_path: Path) -> None:
    first = pack(record, tmp_path / "1.zip").file.read_bytes()
    for path in record.rglob("*"):
        os.utime(path, (1_000_000_000, 1_000_000_000))
        path.chmod(0o700)
    assert pack(record, tmp_path / "2.zip").file.read_bytes() == first


def test_nothing_is_written_over(record: Path, tmp_path: Path) -> None:
    packed = pack(record).file
    before = packed.read_bytes()
    with pytest.raises(PackError, match="is there already and was left as it is"):
        pack(record)
    assert packed.read_bytes() == before
    with pytest.raises(PackError, match="is there already and was left as it is"):
        unpack(packed)  # by its own name, where the record itself lies
    (tmp_path / "taken").write_text("mine")
    with pytest.raises(PackError, match="is there already"):
        unpack(packed, tmp_path / "taken")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    with pytest.raises(PackError, match="is there already"):
        unpack(packed, tmp_path / "dangling")
    assert (tmp_path / "taken").read_text() == "mine"
    assert not (tmp_path / "nowhere").exists()


def test_links_and_hidden_files_are_left_out_and_named(record: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("not part of the item")
    (record / "link.txt").symlink_to(tmp_path / "secret")
    (record / "away").symlink_to(tmp_path, target_is_directory=True)
    (record / ".cache").mkdir()
    (record / ".cache" / "x").write_text("x")
    (record / ".DS_Store").write_text("x")
    packed = pack(record)
    assert sorted(one.split(":")[0] for one in packed.left_out) == [".DS_Store", ".cache", "away", "link.txt"]
    assert packed.names == ("item.toml", "photos/Größe.jpg", "photos/board.jpg")


def test_a_lone_record_takes_the_files_it_names_along(record: Path, tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    (bench / "photos").mkdir(parents=True)
    (bench / "photos" / "a.jpg").write_bytes(b"a")
    (bench / "photos" / "unnamed.jpg").write_bytes(b"b")
    (bench / "other.toml").write_text(invented(4))
    (bench / "lamp.toml").write_text(
        f'{invented(3)}\n[[photo]]\nfile = "photos/a.jpg"\n[[photo]]\nfile = "photos/lost.jpg"\n'
    )
    packed = pack(bench / "lamp.toml", tmp_path / "lamp.zip")
    assert packed.names == ("lamp.toml", "photos/a.jpg")
    assert len(packed.left_out) == 1
    back = unpack(tmp_path / "lamp.zip")
    assert (back.folder.name, back.record.name) == ("lamp", "lamp.toml")


def test_a_record_in_want_of_mending_is_packed_as_it_is(record: Path, tmp_path: Path) -> None:
    (record / "item.toml").write_text("lidoff = 1\n[item\n")
    back = unpack(pack(record).file, tmp_path / "back")
    assert "is not TOML" in back.warnings[0]
    assert tree(back.folder) == tree(record)


def test_what_is_no_record_is_not_packed(tmp_path: Path) -> None:
    (tmp_path / "bare").mkdir()
    with pytest.raises(RecordError, match=r"holds no item\.toml"):
        pack(tmp_path / "bare")


def test_a_file_that_changes_meanwhile_is_noticed(record: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    listed = packing_room._listed

    def and_then_changed(folder: Path, name: str) -> dict[str, object]:
        told = listed(folder, name)
        (folder / name).write_bytes(b"other")
        return told

    monkeypatch.setattr(packing_room, "_listed", and_then_changed)
    with pytest.raises(PackError, match="changed while it was being packed"):
        pack(record)
    assert sorted(one.name for one in record.parent.iterdir()) == ["strip"]


_NAMES = st.text(
    st.characters(codec="utf-8", exclude_characters='/\0<>:"|?*\\', exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp"]),
    min_size=1,
    max_size=12,
)
_PATHS = st.lists(_NAMES, min_size=1, max_size=3).map("/".join)


@given(files=st.dictionaries(_PATHS, st.binary(max_size=3000), max_size=6))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
def test_whatever_can_be_packed_comes_back_the_same(
    tmp_path_factory: pytest.TempPathFactory, files: dict[str, bytes]
) -> None:
    base = tmp_path_factory.mktemp("packed")
    folder = base / "item"
    folder.mkdir()
    (folder / "item.toml").write_text(invented(1))
    for name, data in files.items():
        path = folder / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        except OSError:
            return  # a file where a folder is wanted: no such tree
    try:
        packed = pack(folder)
    except PackError as refused:
        assert "nothing was written" in str(refused)  # noqa: PT017 - a name that other systems cannot have
        assert [one.name for one in base.iterdir()] == ["item"]
        return
    back = unpack(packed.file, base / "back")
    hidden = {name for name in tree(folder) if any(one.startswith(".") for one in name.split("/"))}
    assert tree(back.folder) == {name: data for name, data in tree(folder).items() if name not in hidden}
    assert bool(hidden) == bool(packed.left_out)


# Files made to do harm ------------------------------------------------------------------------------------------------


def listed(files: dict[str, bytes], **changes: object) -> bytes:
    head = {
        "lidoff_pack": 1,
        "made_with": "test",
        "name": "strip",
        "record": "item.toml",
        "files": [
            {"name": name, "size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for name, data in files.items()
        ],
    }
    return json.dumps(head | changes).encode()


def made(path: Path, entries: list[tuple[str | zipfile.ZipInfo, bytes]]) -> Path:
    import warnings

    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # two files of one name are what some of these are about
        for name, data in entries:
            packed.writestr(name, data)
    return path


def honest(path: Path, files: dict[str, bytes], **changes: object) -> Path:
    """A packed item whose list names all that is in it."""
    return made(path, [(LIST, listed(files, **changes)), *files.items()])


ITEM = {"item.toml": b"lidoff = 1\n"}
WRONG_NAMES = {
    "../outside.txt": "leads out of its folder",
    "photos/../../outside.txt": "leads out of its folder",
    "./item.txt": "leads out of its folder",
    "photos//a.jpg": "leads out of its folder",
    "/etc/cron.d/x": "begins at the root",
    "C:/x.txt": "names a drive",
    "c:x.txt": "names a drive",
    "photos\\a.jpg": "holds a character",
    "photos/a.jpg:stream": "holds a character",
    "CON": "means a device",
    "photos/nul.jpg": "means a device",
    "com1.txt": "means a device",
    "a\nb": "cannot be seen",
    "a\u202egpj.exe": "cannot be seen",
    "trailing.": "ends in a dot",
    "trailing ": "begins or ends in a blank",
    "/".join("a" * 20): "nested too deeply",
    "a" * 300: "empty or too long",
}


def refused(file: Path, said: str) -> None:
    """Unpacking is refused in one sentence, and nothing is anywhere that was not there before."""
    parent = file.parent
    before = set(parent.parent.rglob("*"))
    with pytest.raises(PackError) as error:
        unpack(file)
    assert said in str(error.value)
    assert len(str(error.value).splitlines()) == 1
    assert set(parent.parent.rglob("*")) == before


@pytest.mark.parametrize("name", WRONG_NAMES)
def test_names_that_lead_elsewhere_are_refused(tmp_path: Path, name: str) -> None:
    inside = tmp_path / "in"
    inside.mkdir()
    refused(honest(inside / "x.zip", {**ITEM, name: b"harm"}), WRONG_NAMES[name])
    assert refusal(name) is not None


@pytest.mark.parametrize(
    "names",
    [
        ("photos/A.jpg", "photos/a.jpg"),
        ("straße.jpg", "STRASSE.jpg"),
        ("caf\u00e9.jpg", "cafe\u0301.jpg"),
        ("Photos/a.jpg", "photos/b.jpg"),
        ("ITEM.TOML", "item.toml"),
        ("a", "a/b"),
        ("item.toml", "item.toml"),
    ],
)
def test_names_that_are_one_elsewhere_are_refused(tmp_path: Path, names: tuple[str, str]) -> None:
    with pytest.raises(PackError):
        checked(names)
    entries = [(LIST, listed(dict.fromkeys(("item.toml", *names), b"x"))), *((name, b"x") for name in names)]
    inside = tmp_path / "in"
    inside.mkdir()
    refused(made(inside / "x.zip", entries), "nothing was written")  # type: ignore[arg-type]


def entry(name: str, mode: int) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name)
    info.create_system = 3
    info.external_attr = mode << 16
    return info


def a_link(path: Path) -> None:
    files = {**ITEM, "photos": b"/etc"}
    made(
        path,
        [(LIST, listed(files)), ("item.toml", ITEM["item.toml"]), (entry("photos", stat.S_IFLNK | 0o777), b"/etc")],
    )


def a_folder(path: Path) -> None:
    made(path, [(LIST, listed(ITEM)), ("photos/", b""), *ITEM.items()])


def a_pipe(path: Path) -> None:
    made(path, [(LIST, listed({**ITEM, "p": b""})), *ITEM.items(), (entry("p", stat.S_IFIFO | 0o666), b"")])


def a_bomb(path: Path) -> None:
    honest(path, {**ITEM, "zeros.bin": bytes(30_000_000)})


def too_many(path: Path) -> None:
    honest(path, ITEM | {f"{number}.txt": b"" for number in range(packing_room.MOST_FILES)})


def too_much(path: Path) -> None:
    head = json.loads(listed(ITEM))
    head["files"][0]["size"] = packing_room.MOST_BYTES + 1
    made(path, [(LIST, json.dumps(head).encode()), *ITEM.items()])


def larger_than_listed(path: Path) -> None:
    made(path, [(LIST, listed({"item.toml": b"lid"})), *ITEM.items()])


def other_contents(path: Path) -> None:
    made(path, [(LIST, listed({"item.toml": b"lidoff = 2\n"})), *ITEM.items()])


def not_on_the_list(path: Path) -> None:
    made(path, [(LIST, listed(ITEM)), *ITEM.items(), ("more.txt", b"x")])


def missing_from_it(path: Path) -> None:
    made(path, [(LIST, listed({**ITEM, "more.txt": b"x"})), *ITEM.items()])


def no_list(path: Path) -> None:
    made(path, list(ITEM.items()))


def list_behind(path: Path) -> None:
    made(path, [*ITEM.items(), (LIST, listed(ITEM))])


def list_of_another(path: Path) -> None:
    made(path, [(LIST, b'{"name": "strip"}'), *ITEM.items()])


def deep_list(path: Path) -> None:
    made(path, [(LIST, b"[" * 200_000), *ITEM.items()])


def newer_form(path: Path) -> None:
    honest(path, ITEM, lidoff_pack=2)


def without_record(path: Path) -> None:
    honest(path, {"photo.jpg": b"x"})


def folder_elsewhere(path: Path) -> None:
    honest(path, ITEM, name="../strip")


def hidden_folder(path: Path) -> None:
    honest(path, ITEM, name=".ssh")


def no_zip(path: Path) -> None:
    path.write_bytes(b"PK\x03\x04 and then nothing that fits")


def cut(path: Path) -> None:
    honest(path, {**ITEM, "a.bin": os.urandom(5000)})
    path.write_bytes(path.read_bytes()[:-900])


def flipped(path: Path) -> None:
    honest(path, {**ITEM, "a.bin": os.urandom(5000)})
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 0xFF
    path.write_bytes(data)


def encrypted(path: Path) -> None:
    honest(path, ITEM)
    data = bytearray(path.read_bytes())
    at = data.rindex(b"PK\x01\x02")
    data[at + 8] |= 1
    path.write_bytes(data)


def upon_each_other(path: Path) -> None:
    """Two entries of the directory that point at the same bytes."""
    files = {**ITEM, "a.bin": os.urandom(900), "b.bin": b""}
    honest(path, files)
    data = bytearray(path.read_bytes())
    first, second = data.index(b"PK\x01\x02"), []
    at = first
    while data[at : at + 4] == b"PK\x01\x02":
        second.append(at)
        lengths = struct.unpack("<HHH", data[at + 28 : at + 34])
        at += 46 + sum(lengths)
    data[second[3] + 42 : second[3] + 46] = data[second[2] + 42 : second[2] + 46]
    path.write_bytes(data)


HARM: dict[Callable[[Path], None], str] = {
    a_link: "is a link, a folder or a device",
    a_folder: "is a link, a folder or a device",
    a_pipe: "is a link, a folder or a device",
    a_bomb: "would swell more than",
    too_many: "holds more than 10000 files",
    too_much: "holds more than 4 GB",
    larger_than_listed: "larger than the list says",
    other_contents: "is not what was packed",
    not_on_the_list: "not what its list says",
    missing_from_it: "not what its list says",
    no_list: "does not begin with",
    list_behind: "does not begin with",
    list_of_another: "none of Lidoff's",
    deep_list: "its list cannot be read",
    newer_form: "use a newer Lidoff",
    without_record: "lacks something or says it wrongly",
    folder_elsewhere: "folder name",
    hidden_folder: "folder name",
    no_zip: "no packed item, or is damaged",
    cut: "no packed item, or is damaged",
    flipped: "",
    encrypted: "encrypted",
    upon_each_other: "lie upon each other",
}


@pytest.mark.parametrize("harm", HARM, ids=lambda one: one.__name__)
def test_a_file_made_to_do_harm_leaves_nothing_behind(harm: Callable[[Path], None], tmp_path: Path) -> None:
    inside = tmp_path / "in"
    inside.mkdir()
    harm(inside / "x.zip")
    refused(inside / "x.zip", HARM[harm])


def test_sizes_in_headers_are_not_trusted(tmp_path: Path) -> None:
    """A small size written into both headers, with a large content behind it: counted while it comes out."""
    inside = tmp_path / "in"
    inside.mkdir()
    large = os.urandom(200_000)
    path = honest(inside / "x.zip", {**ITEM, "a.bin": large})
    data = bytearray(path.read_bytes())
    data = data.replace(struct.pack("<L", len(large)), struct.pack("<L", 10))
    path.write_bytes(data)
    refused(path, "")


@given(data=st.data())
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=80)
def test_a_damaged_file_gives_the_item_or_one_sentence(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    base = tmp_path_factory.mktemp("damaged")
    files = {**ITEM, "photos/a.bin": bytes(range(200)) * 3}
    whole = bytearray(honest(base / "whole.zip", files).read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    (base / "x.zip").write_bytes(whole)
    try:
        back = unpack(base / "x.zip", base / "out")
    except PackError as error:
        assert len(str(error).splitlines()) == 1  # noqa: PT017 - either way is right
        assert sorted(one.name for one in base.iterdir()) == ["whole.zip", "x.zip"]
    else:
        assert tree(back.folder) == files


@given(st.text(max_size=30))
def test_a_name_that_may_stand_stays_below_its_folder(name: str) -> None:
    if refusal(name) is None:
        base = Path("/base/folder")
        assert Path(os.path.normpath(base / name)).is_relative_to(base)
        assert Path(os.path.normpath(base / name)) != base
        assert folded(folded(name)) == folded(name)


def test_a_stream_is_no_reason_to_fail(record: Path) -> None:
    """The file is an ordinary zip: what is in it can be read from memory as well."""
    with zipfile.ZipFile(io.BytesIO(pack(record).file.read_bytes())) as packed:
        assert packed.namelist() == [LIST, "item.toml", "photos/Größe.jpg", "photos/board.jpg"]
        assert all(one.date_time == (1980, 1, 1, 0, 0, 0) for one in packed.infolist())
