"""What cannot be a record is refused in one clear sentence, and nothing is written."""

from __future__ import annotations

import os
import pickle
import time
from pathlib import Path

import pytest

from lidoff.errors import LidoffError
from lidoff.record import RecordError, check, open, read_text
from lidoff.record.source import LARGEST


def refused(path: Path) -> str:
    """The sentence with which reading is refused; the path must stand at its beginning."""
    with pytest.raises(RecordError) as caught:
        open(path)
    sentence = str(caught.value)
    assert sentence.startswith(str(path)), sentence
    assert "\n" not in sentence
    assert isinstance(caught.value, LidoffError)
    return sentence[len(str(path)) :]


def test_a_folder_a_file_and_a_lone_file_are_all_read(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    file.write_text("lidoff = 1\n", encoding="utf-8")
    lone = tmp_path / "lamp.toml"
    lone.write_text("lidoff = 1\n", encoding="utf-8")
    assert open(tmp_path).path == file
    assert open(str(file)).path == file
    assert open(lone).path == lone


def test_nothing_there(tmp_path: Path) -> None:
    assert refused(tmp_path / "nowhere") == ": there is no such file or folder"


def test_a_folder_without_a_record(tmp_path: Path) -> None:
    assert refused(tmp_path) == f": this folder holds no item.toml; start a record with: lidoff new {tmp_path}"
    assert list(tmp_path.iterdir()) == []


def test_a_folder_where_the_file_should_be(tmp_path: Path) -> None:
    (tmp_path / "item.toml").mkdir()
    with pytest.raises(RecordError, match="is a folder, not a file that could hold a record"):
        open(tmp_path)


def test_a_pipe(tmp_path: Path) -> None:
    """A pipe would be waited on for ever; it is not opened."""
    os.mkfifo(tmp_path / "item.toml")
    with pytest.raises(RecordError, match="is a device or pipe"):
        open(tmp_path)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_must_not_be_read(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    file.write_text("lidoff = 1\n", encoding="utf-8")
    file.chmod(0)
    assert refused(file) == ": cannot be read: permission denied"


def test_a_name_longer_than_any_file(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="cannot be looked at: file name too long"):
        open(tmp_path / ("x" * 5000))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", ": is empty; a record begins with lidoff = 1"),
        (b"\n  # only a note\n", ": is empty; a record begins with lidoff = 1"),
        (b"\x00\x01\x02\xff", ": is not text but binary data"),
        (b"lidoff = 1\n\x89PNG\r\n\x1a\n\x00", ": is not text but binary data"),
        (b'lidoff = 1\n[item]\ntitle = "caf\xe9"\n', ":3: is not text in UTF-8; save it as UTF-8"),
        ("lidoff = 1\n".encode("utf-16"), ": is text in UTF-16; save it as UTF-8"),
        (b"[" * 100_000, ":? brackets are nested too deeply|:1: is not TOML here"),
        (b"x = " + b"[" * 100_000, ": brackets are nested too deeply"),
        (b"a." * 100_000 + b"b = 1", ":1: a key of more than 40 steps"),
        (b"x = " + b"9" * 5000, ": cannot be read: "),
        (b"lidoff = 1\n[[part]\n", ":2: is not TOML here: the heading of a table is not closed"),
        (b'lidoff = 1\n[[part]]\nref = "R1\nkind = "resistor"\n', ":3: is not TOML here: a quotation mark or bracket"),
        (b"lidoff = 1\n[[part]]\nvalue = 4k7\n", ":3: is not TOML here: something is left over behind the value"),
        (b"lidoff = 1\n[[part]]\nvalue = k47\n", ":3: is not TOML here: there is no value that can be read"),
        (b"lidoff = 1\n[part]\n[part]\n", ":3: is not TOML here: this table is headed twice; .*\\[\\[part\\]\\]"),
        (b"lidoff = 1\n[item]\ntitle = 'a'\ntitle = 'b'\n", ":4: is not TOML here: this key is written twice"),
        (b"lidoff = 1\n[item]\ntitle\n", ":3: is not TOML here: a key and its value are expected"),
        (b'lidoff = 1\n[item]\nuse = "C:\\shed"\n', ":3: is not TOML here: a backslash inside double quotes"),
        (b'lidoff = 1\n[item]\ntitle = "a\x07"\n', ":3: is not TOML here: there is a control character"),
        (b'lidoff = 1\n[[part]]\nnodes = ["a", "b"\n', ":3: is not TOML here: a quotation mark or bracket"),
    ],
)
def test_what_is_not_a_record(tmp_path: Path, data: bytes, sentence: str) -> None:
    """Binary, foreign encodings, broken TOML and hostile nesting: one sentence, with the line where there is one."""
    file = tmp_path / "item.toml"
    file.write_bytes(data)
    start = time.monotonic()
    with pytest.raises(RecordError, match=rf"^{file}{sentence}") as caught:
        open(file)
    assert time.monotonic() - start < 5.0
    assert "\n" not in str(caught.value)
    assert file.read_bytes() == data


def test_ten_megabytes_are_not_read(tmp_path: Path) -> None:
    """A record over 1 MB is refused by its size, before any of it is read."""
    file = tmp_path / "item.toml"
    with file.open("wb") as stream:
        # A hole of that size takes no room and no time; reading it all would take some.
        stream.truncate(10_000_000_000)
    assert refused(file) == ": is larger than 1 MB, which no record is; it was not read"


def test_the_limit_is_one_megabyte(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    text = "lidoff = 1\n#"
    file.write_text(text + "x" * (LARGEST - len(text)), encoding="utf-8")
    assert open(file).parts == ()
    file.write_text(text + "x" * (LARGEST - len(text) + 1), encoding="utf-8")
    assert "larger than 1 MB" in refused(file)
    with pytest.raises(RecordError, match="larger than 1 MB"):
        read_text("lidoff = 1\n#" + "é" * (LARGEST // 2), "item.toml")


def test_a_large_record_full_of_mistakes_is_answered_in_time(tmp_path: Path) -> None:
    """Thousands of unknown keys, refs and nodes do not make the reading crawl."""
    lines = ["lidoff = 1"]
    for number in range(3000):
        lines.append(f'[[part]]\nref = "R{number}"\nkind = "resistor"\nvlaue{number} = 1\nnodes = ["a{number}", "b"]')
        lines.append(f'[[state]]\nname = "s{number}"\nremove = ["X{number}"]')
    file = tmp_path / "item.toml"
    file.write_text("\n".join(lines), encoding="utf-8")
    start = time.monotonic()
    result = check(file)
    assert not result.ok
    assert len(result.problems) > 5000
    # A few seconds by itself; the limit leaves room for a machine that does other things as well.
    assert time.monotonic() - start < 20.0


def test_a_byte_order_mark_and_crlf_are_no_obstacle(tmp_path: Path) -> None:
    """Editors on some systems write both; the lines are counted the same."""
    file = tmp_path / "item.toml"
    file.write_bytes('\ufefflidoff = 1\r\n[[part]]\r\nref = "R1"\r\nkind = "resistor"\r\nvalue = "0R"\r\n'.encode())
    with pytest.raises(RecordError, match=r"item\.toml:5: R1\.value: must be above"):
        open(file)


def test_check_says_what_is_not_toml(tmp_path: Path) -> None:
    """A record that is not TOML is a problem with its line; a file that is not there is nothing to check."""
    file = tmp_path / "item.toml"
    file.write_text("lidoff = 1\nvalue = 4k7\n", encoding="utf-8")
    result = check(file)
    assert (result.ok, [one.line for one in result.problems]) == (False, [2])
    with pytest.raises(RecordError, match="no such file"):
        check(tmp_path / "other.toml")


def test_the_error_can_be_sent_to_another_process(tmp_path: Path) -> None:
    with pytest.raises(RecordError) as caught:
        read_text('lidoff = 1\n[item]\nclass = "9"\ntitel = "x"\n', "item.toml")
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value)
    assert again.problems == caught.value.problems
