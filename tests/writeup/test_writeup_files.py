"""A write-up never takes the place of anything that somebody has written or changed."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path

import pytest

import lidoff
from lidoff.account import Account, take
from lidoff.writeup import WriteupError, write

pytestmark = pytest.mark.xdist_group("writeup")
PLAIN = 'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\nnodes = ["live", "neutral"]\n'
FILES = ("report.html", "report.json", "figures.csv")


@pytest.fixture
def account(tmp_path: Path) -> Account:
    (tmp_path / "record").mkdir()
    (tmp_path / "record" / "item.toml").write_text(PLAIN, encoding="utf-8")
    return take(lidoff.open(tmp_path / "record"))


def digests(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


def test_three_files_and_nothing_else_are_written(account: Account, tmp_path: Path) -> None:
    written = write(account, tmp_path / "deep" / "out")
    assert sorted(path.name for path in (tmp_path / "deep" / "out").iterdir()) == sorted(FILES)
    assert written.page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert json.loads(written.data.read_text(encoding="utf-8"))["fingerprint"] == account.fingerprint
    assert written.table.read_text(encoding="utf-8").startswith("state,figure,value,unit")
    assert oct(written.page.stat().st_mode & 0o777) == "0o644"


def test_an_untouched_write_up_of_the_record_is_renewed(account: Account, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(account, out)
    (account.item.path).write_text(PLAIN.replace("1k", "2k"), encoding="utf-8")
    other = take(lidoff.open(account.item.path))
    write(other, out)
    assert other.fingerprint in (out / "report.html").read_text(encoding="utf-8")
    assert other.fingerprint in (out / "report.json").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", FILES)
def test_a_file_changed_by_hand_is_left_and_named(name: str, account: Account, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(account, out)
    path = out / name
    path.write_text(path.read_text(encoding="utf-8") + "my own words\n", encoding="utf-8")
    before = digests(out)
    with pytest.raises(WriteupError, match="changed since") as caught:
        write(account, out)
    assert name in str(caught.value)
    assert digests(out) == before


@pytest.mark.parametrize("name", FILES)
def test_a_foreign_file_of_that_name_is_left_and_named(name: str, account: Account, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / name).write_text("<p>somebody's page</p>", encoding="utf-8")
    before = digests(out)
    with pytest.raises(WriteupError, match="is left as it is") as caught:
        write(account, out)
    assert name in str(caught.value)
    assert digests(out) == before


def test_the_write_up_of_another_lone_record_is_left(account: Account, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(PLAIN, encoding="utf-8")
    out = tmp_path / "out"
    write(account, out)
    before = digests(out)
    with pytest.raises(WriteupError, match=r"write-up of another record, item\.toml"):
        write(take(lidoff.open(other)), out)
    assert digests(out) == before


def test_a_folder_that_cannot_be_made_is_named(account: Account, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(WriteupError, match=r"cannot be written here: .*name a folder with -o"):
        write(account, tmp_path / "file")


@pytest.mark.skipif(os.geteuid() == 0, reason="root writes everywhere")
def test_a_folder_made_read_only_is_named(account: Account, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir(mode=0o500)
    with pytest.raises(WriteupError, match="permission denied"):
        write(account, out)


def test_a_file_that_is_not_text_is_left(account: Account, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "report.html").write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(WriteupError, match="was not written here"):
        write(account, out)
    assert (out / "report.html").read_bytes() == b"\xff\xfe\x00\x01"


def test_the_accounts_of_the_demo_are_written(accounts: Mapping[str, Account], tmp_path: Path) -> None:
    for name, one in accounts.items():
        written = write(one, tmp_path / name)
        assert written.page.stat().st_size > 50_000


def test_data_edited_in_its_layout_alone_is_left(account: Account, tmp_path: Path) -> None:
    """The seal is over the text, not over what it means."""
    out = tmp_path / "out"
    data = write(account, out).data
    data.write_text(json.dumps(json.loads(data.read_text(encoding="utf-8"))), encoding="utf-8")
    with pytest.raises(WriteupError, match="changed since"):
        write(account, out)


def test_both_forms_stand_side_by_side_and_what_is_older_is_named(account: Account, tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = write(account, out, forms=("short", "full"))
    assert [path.name for path in first.files] == ["report-short.html", "report.html", "figures.csv", "report.json"]
    assert first.stale == ()
    (account.item.path).write_text(PLAIN.replace("1k", "2k"), encoding="utf-8")
    other = take(lidoff.open(account.item.path))
    second = write(other, out, forms=("full",))
    assert [path.name for path in second.stale] == ["report-short.html"]
    # It is still known as untouched, and is renewed when it is asked for.
    assert write(other, out, forms=("short",)).stale == ()


def test_the_form_that_the_record_asks_for_is_written(tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text(PLAIN + '[writeup]\nform = "short"\n', encoding="utf-8")
    written = write(take(lidoff.open(tmp_path)), tmp_path)
    assert written.page.name == "report-short.html"
    assert not (tmp_path / "report.html").exists()
