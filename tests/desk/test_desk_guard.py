"""Attacks on the desk: other pages, other names, other machines, other folders, records that mean harm.

What is held up against them is after the OWASP cheat sheets on cross-site request forgery and on DNS rebinding
(fetch metadata, origin check, host check, SameSite cookies); from memory.
"""

from __future__ import annotations

import os
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from starlette.websockets import WebSocketDisconnect
from tests.desk.conftest import HOST, TOKEN, Client

ACCEPT = {"accept": "application/json"}


def title(revision: str, words: str = "Taken over") -> dict[str, object]:
    return {"revision": revision, "changes": [{"do": "set", "name": "item.title", "value": words}]}


# Who is let in ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path", ["/", "/items/night-light/overview", "/static/desk.js", "/items/night-light/photo/x.jpg"]
)
def test_without_the_link_nothing_is_given_out(folder: Path, path: str):
    with Client(folder) as stranger:
        answer = stranger.get(path)
        assert answer.status_code == 403
        assert "Night light" not in answer.text


@pytest.mark.parametrize("query", ["", "?token=", "?token=wrong", f"?token={TOKEN}x", f"?other={TOKEN}", "?token=%00"])
def test_a_wrong_token_opens_nothing(folder: Path, query: str):
    with Client(folder) as stranger:
        answer = stranger.get(f"/open{query}", follow_redirects=False)
        assert answer.status_code == 403
        assert "set-cookie" not in answer.headers


def test_the_link_sets_a_cookie_that_scripts_and_other_sites_cannot_use(folder: Path):
    with Client(folder) as client:
        answer = client.get(f"/open?token={TOKEN}", follow_redirects=False)
        assert answer.status_code == 303
        assert answer.headers["location"] == "/"
        cookie = answer.headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        assert TOKEN not in answer.headers["set-cookie"]


def test_a_cookie_of_another_desk_opens_nothing(folder: Path):
    with Client(folder) as first, Client(folder) as second:
        first.let_in()
        for cookie in first.cookies.jar:
            second.cookies.set(cookie.name, str(cookie.value))
        assert second.get("/").status_code == 403


# Other names and other pages ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8123",
        "127.0.0.1",
        "127.0.0.1:9",
        "localhost.evil.example:8123",
        "",
        "0.0.0.0:8123",
    ],
)
def test_a_foreign_name_pointed_at_this_machine_gets_nothing(client, host: str):
    answer = client.get("/", headers={"host": host})
    assert answer.status_code == 403
    assert "Night light" not in answer.text


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "http://127.0.0.1:9999", f"https://{HOST}", "http://localhost:8123"]
)
def test_an_edit_from_another_page_is_refused(client, record: Path, origin: str):
    before, revision = record.read_bytes(), client.revision("night-light")
    answer = client.post("/items/night-light/edit", json=title(revision), headers={**ACCEPT, "origin": origin})
    assert answer.status_code == 403
    assert record.read_bytes() == before


def test_an_edit_without_an_origin_is_refused(client, record: Path):
    before, revision = record.read_bytes(), client.revision("night-light")
    del client.headers["origin"]
    assert client.post("/items/night-light/edit", json=title(revision), headers=ACCEPT).status_code == 403
    assert record.read_bytes() == before


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_request_that_the_browser_calls_foreign_is_refused(client, site: str):
    assert client.get("/items/night-light/outside", headers={"sec-fetch-site": site}).status_code == 403


def test_a_form_of_another_page_cannot_make_a_record(client, folder: Path):
    answer = client.post("/start", data={"title": "planted"}, headers={"origin": "http://evil.example"})
    assert answer.status_code == 403
    assert [path.name for path in folder.iterdir()] == ["night-light"]


@pytest.mark.parametrize("method", ["OPTIONS", "TRACE", "CONNECT", "PROPFIND"])
def test_other_methods_are_not_answered(client, method: str):
    answer = client.request(method, "/items/night-light/edit")
    assert answer.status_code == 403
    assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize("headers", [{"origin": "http://evil.example"}, {"host": "evil.example:8123"}])
def test_a_websocket_of_another_page_is_refused(client, headers: dict[str, str]):
    with pytest.raises(WebSocketDisconnect), client.socket("/items/night-light/changes", headers=headers):
        pass


def test_a_websocket_without_the_cookie_is_refused(folder: Path):
    with Client(folder) as stranger, pytest.raises(WebSocketDisconnect), stranger.socket("/items/night-light/changes"):
        pass


@pytest.mark.parametrize("path", ["/", "/items/night-light/parts", "/static/desk.js", "/nowhere", "/items/none/parts"])
def test_every_answer_carries_the_policy(client, path: str):
    answer = client.get(path)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"


# Paths --------------------------------------------------------------------------------------------------------------

OUT = ["../secret.jpg", "..%2fsecret.jpg", "%2e%2e/secret.jpg", "..%5csecret.jpg", "/etc/passwd", "%2fetc%2fpasswd",
       "photos/../../secret.jpg", "link.jpg", "linked/secret.jpg", "secret.jpg%00.jpg", "item.toml", "."]  # fmt: skip


@pytest.mark.parametrize("name", OUT)
def test_no_path_leads_out_of_the_record(client, folder: Path, name: str):
    outside = folder / "secret.jpg"
    Image.new("RGB", (8, 8), "red").save(outside)
    (folder / "night-light" / "link.jpg").symlink_to(outside)
    (folder / "night-light" / "linked").symlink_to(folder)
    for address in ("photo", "writeup/file"):
        answer = client.get(f"/items/night-light/{address}/{name}")
        assert answer.status_code in (403, 404), (address, answer.status_code)
        assert b"JFIF" not in answer.content


def test_a_folder_linked_in_from_elsewhere_is_not_an_item(client, folder: Path, tmp_path: Path):
    away = tmp_path / "away"
    away.mkdir()
    (away / "item.toml").write_text('lidoff = 1\n[item]\ntitle = "Not yours"\n', encoding="utf-8")
    (folder / "in").symlink_to(away)
    (folder / "half").mkdir()
    (folder / "half" / "item.toml").symlink_to(away / "item.toml")
    assert "Not yours" not in client.get("/").text
    assert client.get("/items/in/outside").status_code == 404
    assert client.get("/items/half/outside").status_code == 404


@pytest.mark.parametrize("given", ["../../outside", "/tmp/outside", "..", "", "   ", "///", "\0"])
def test_a_new_record_lies_in_the_opened_folder_or_nowhere(client, folder: Path, tmp_path: Path, given: str):
    before = {path for path in tmp_path.rglob("*") if folder not in path.parents}
    answer = client.ask("/start", {"title": given})
    assert answer.status_code in (200, 422)
    assert {path for path in tmp_path.rglob("*") if folder not in path.parents} == before


@pytest.mark.parametrize("name", ["../night-light", "/etc", "", "no-such"])
def test_an_example_that_is_none_is_refused(client, name: str):
    assert client.ask("/example", {"name": name}).status_code == 422


# What is sent in ----------------------------------------------------------------------------------------------------


def picture(kind: str = "JPEG", size: tuple[int, int] = (40, 30)) -> bytes:
    held, exif = BytesIO(), Image.Exif()
    exif[0x0112] = 6  # turned a quarter
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)  # where it was taken
    Image.new("RGB", size, "white").save(held, kind, exif=exif)
    return held.getvalue()


def test_a_photograph_is_taken_in_upright_and_without_its_place(client, folder: Path, record: Path):
    answer = client.post("/items/night-light/photos?name=IMG_1.JPG&shows=label", content=picture(), headers=ACCEPT)
    assert answer.status_code == 200, answer.text
    name = answer.json()["file"]
    assert name == "photos/img-1.jpg"
    with Image.open(folder / "night-light" / name) as kept:
        assert kept.size == (30, 40)
        assert not kept.getexif().get_ifd(0x8825)
    assert 'file = "photos/img-1.jpg"' in record.read_text(encoding="utf-8")
    shown = client.get(f"/items/night-light/photo/{name}")
    assert shown.headers["content-type"] == "image/jpeg"


NO_PICTURES = [
    b"",
    b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
    b"<html><script>1</script></html>",
    b"GIF89a" + b"\0" * 10,
    b"\x89PNG\r\n\x1a\n" + b"\0" * 50,
    b"%PDF-1.4",
    picture()[:200],
    b"P6 99999 99999 255\n",
]


@pytest.mark.parametrize("content", NO_PICTURES)
@pytest.mark.parametrize("name", ["x.jpg", "x.svg", "../../x.html", "x.php"])
def test_what_is_no_photograph_is_not_kept(client, folder: Path, record: Path, content: bytes, name: str):
    before = record.read_bytes()
    answer = client.post(f"/items/night-light/photos?name={name}", content=content, headers=ACCEPT)
    assert answer.status_code == 422
    assert answer.json()["sentence"]
    assert "/tmp" not in answer.json()["sentence"]
    assert record.read_bytes() == before
    assert not list((folder / "night-light").rglob("x*"))


def test_a_picture_that_would_unpack_to_gigabytes_is_refused(client, folder: Path):
    held = BytesIO()
    Image.new("1", (30000, 30000)).save(held, "PNG")
    answer = client.post("/items/night-light/photos?name=x.png", content=held.getvalue(), headers=ACCEPT)
    assert answer.status_code == 422
    assert not (folder / "night-light" / "photos").exists() or not list((folder / "night-light" / "photos").iterdir())


def test_what_hides_behind_a_picture_is_not_kept(client, folder: Path):
    content = picture() + b"<script>alert(1)</script>"
    answer = client.post("/items/night-light/photos?name=x.jpg", content=content, headers=ACCEPT)
    assert answer.status_code == 200
    assert b"<script>" not in (folder / "night-light" / answer.json()["file"]).read_bytes()


def test_a_body_over_the_limit_is_cut_off(client, record: Path):
    before = record.read_bytes()
    long = "x" * 300_000
    answer = client.ask("/items/night-light/edit", title(client.revision("night-light"), long))
    assert answer.status_code == 413

    def endless():
        for _ in range(100):
            yield b"x" * 10_000

    answer = client.post("/items/night-light/edit", content=endless(), headers=ACCEPT)
    assert answer.status_code == 413
    assert record.read_bytes() == before


def test_photographs_kept_through_a_linked_folder_are_refused(client, folder: Path, tmp_path: Path):
    (tmp_path / "away").mkdir()
    (folder / "night-light" / "photos").symlink_to(tmp_path / "away")
    answer = client.post("/items/night-light/photos?name=x.jpg", content=picture(), headers=ACCEPT)
    assert answer.status_code == 422
    assert not list((tmp_path / "away").iterdir())


@pytest.mark.parametrize(
    "body",
    [
        [],
        {"changes": "x"},
        {"changes": []},
        {"changes": [{"do": "exec", "name": "item.title"}]},
        {"changes": [{"do": "set", "name": "lidoff", "value": 2}]},
        {"changes": [{"do": "set", "name": "__class__.x", "value": 2}]},
        {"changes": [{"do": "set", "kind": "item", "which": 0, "key": "x", "value": 1}]},
        {"changes": [{"do": "set", "kind": "reading", "which": 99, "key": "value", "value": 1}]},
        {"changes": [{"do": "set", "kind": "reading", "which": True, "key": "value", "value": 1}]},
        {"changes": [{"do": "set", "name": "item.title", "value": "a\x00b"}]},
        {"changes": [{"do": "set", "name": "item.title", "value": "y" * 20_001}]},
        {"changes": [{"do": "add", "kind": "part", "table": {"ref": "R1", "kind": "resistor"}}]},
        {"changes": [{"do": "set", "name": "item.title", "value": [[[[[[[1]]]]]]]}]},
        {"changes": [{"do": "say", "sentence": 3}]},
    ],
)
def test_nonsense_from_a_script_is_one_sentence_and_changes_nothing(client, record: Path, body: object):
    before = record.read_bytes()
    sent = {**body, "revision": client.revision("night-light")} if isinstance(body, dict) else body
    answer = client.post("/items/night-light/edit", json=sent, headers=ACCEPT)
    assert answer.status_code == 422, answer.text
    assert answer.json()["sentence"].strip().endswith((".", "…", '"', "known")) or answer.json()["sentence"]
    assert record.read_bytes() == before


# What a record says -------------------------------------------------------------------------------------------------

EVIL = "<img src=x onerror=alert(1)>\"'><script>alert(2)</script>{{ 7*7 }}${7*7}</textarea><svg onload=alert(3)>"


def test_nothing_in_a_record_becomes_markup(folder: Path, client):
    place = folder / "evil"
    place.mkdir()
    evil = EVIL.replace("\\", "\\\\").replace('"', '\\"')
    (place / "item.toml").write_text(
        f'''lidoff = 1
[item]
title = "{evil}"
use = "{evil}"
note = "{evil}"
class = "{evil}"
[plug]
kind = "{evil}"
[[part]]
ref = "R1"
kind = "resistor"
value = "4k7"
marking = "{evil}"
note = "{evil}"
nodes = ["live", "{evil}"]
[[part]]
ref = "R<b>2"
kind = "resistor"
value = "4k7"
nodes = ["{evil}", "neutral"]
[[state]]
name = "{evil}"
[[meter]]
name = "{evil}"
kind = "power-meter"
[[reading]]
quantity = "power"
value = "{evil}"
meter = "{evil}"
[[photo]]
file = "{evil}"
[[sighting]]
about = "cord-grip"
seen = "{evil}"
note = "{evil}"
[[surface]]
name = "{evil}"
[verdict]
text = "{evil}"
''',
        encoding="utf-8",
    )
    names = [
        "outside",
        "closed",
        "plug",
        "opening",
        "parts",
        "connections",
        "readings",
        "hazards",
        "writeup",
        "overview",
    ]
    later = ["overview/worked", "connections/drawn", "readings/judged", "hazards/found"]
    for page in (*names, *later):
        text = client.get(f"/items/evil/{page}").text
        assert "<img src=x" not in text, page
        assert "<script>alert" not in text, page
        assert "<svg onload" not in text, page
        assert "<b>2" not in text, page
        assert "49" not in text.partition("{{ 7*7 }}")[0][-200:], page
    assert "<img src=x" not in client.get("/").text


def test_a_write_up_planted_in_a_folder_can_do_nothing(client, folder: Path):
    place = folder / "night-light"
    (place / "report.html").write_text("<script>alert(1)</script>", encoding="utf-8")
    # Nothing that was not sealed here is given out at all.
    assert client.get("/items/night-light/writeup/file/report.html").status_code == 404
    (place / "report.html").unlink()
    assert client.ask("/items/night-light/writeup/make/page", {}).status_code == 200
    (place / "report.html").write_text("<script>alert(1)</script>", encoding="utf-8")
    answer = client.get("/items/night-light/writeup/file/report.html")
    policy = answer.headers["content-security-policy"]
    assert policy.startswith("sandbox;")
    assert "script-src" not in policy
    assert "default-src 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_a_record_made_to_be_slow_is_refused_at_once(client, folder: Path):
    place = folder / "slow"
    place.mkdir()
    (place / "item.toml").write_bytes(b"lidoff = 1\nx = " + b"[" * 400_000)
    assert client.get("/items/slow/outside").status_code in (200, 422)
    os.truncate(place / "item.toml", 2_000_000)
    assert "larger than 1 MB" in client.get("/items/slow/outside").text


def test_texts_are_packed_and_photographs_are_not(client: Client, record: Path):
    """A browser unpacks by itself (RFC 9110, 8.4.1.3 "Gzip Coding"); who does not offer to is sent plain texts."""
    Image.effect_noise((640, 480), 60).convert("RGB").save(record.parent / "board.jpg")
    with record.open("a", encoding="utf-8") as stream:
        stream.write('\n[[photo]]\nfile = "board.jpg"\nside = "bottom"\nshows = "copper"\n')
    for path in ("/items/night-light/parts", "/static/desk.css", "/static/tracing/tracing.js"):
        packed = client.get(path, headers={"accept-encoding": "gzip"})
        plain = client.get(path, headers={"accept-encoding": "identity"})
        assert packed.headers["content-encoding"] == "gzip", path
        assert "content-encoding" not in plain.headers
        assert packed.content == plain.content
        assert int(packed.headers["content-length"]) < len(plain.content) / 2
        assert packed.headers["content-security-policy"] == plain.headers["content-security-policy"]
    shown = client.get("/items/night-light/photo/board.jpg", headers={"accept-encoding": "gzip"})
    assert shown.headers["content-type"] == "image/jpeg"
    assert "content-encoding" not in shown.headers


def test_no_page_holds_a_secret(client: Client):
    """So packing pages together with what somebody else typed gives nothing away by their length."""
    secrets = [TOKEN, *client.cookies.values()]
    assert len(secrets) == 2
    for path in ("/", "/shelf", "/items/night-light/parts", "/items/night-light/cycle", "/items/night-light/phone"):
        text = client.get(path).text
        assert not any(one in text for one in secrets), path
