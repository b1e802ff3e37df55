"""The frame of the desk: pages are there, edits are saved, undone and done again, and told of."""

from __future__ import annotations

from pathlib import Path


def test_the_opened_folder_lists_its_items(client):
    answer = client.get("/")
    assert answer.status_code == 200
    assert "Night light shaped like a moon" in answer.text
    assert "9 parts, 5 readings" in answer.text


def test_an_edit_is_saved_with_the_comments_kept_and_can_be_undone_and_done_again(client, folder: Path):
    file = folder / "night-light" / "item.toml"
    before = file.read_text(encoding="utf-8")
    client.edit("night-light", {"do": "set", "name": "R1.value", "value": "120R"}, what="R1 measured")
    after = file.read_text(encoding="utf-8")
    assert (
        after
        == before.replace(
            'marking = "brown black brown gold"\n', 'marking = "brown black brown gold"\nvalue = "120R"\n'
        )
        or 'value = "120R"' in after
    )
    assert "# Cracked open along the clips." in after
    for step, text in (("undo", before), ("redo", after)):
        body = {"revision": client.revision("night-light")}
        answer = client.post(f"/items/night-light/{step}", json=body, headers={"accept": "application/json"})
        assert answer.status_code == 200, answer.text
        assert file.read_text(encoding="utf-8") == text


def test_an_edit_from_an_older_page_is_refused_and_nothing_is_overwritten(client, folder: Path):
    file = folder / "night-light" / "item.toml"
    old = client.revision("night-light")
    client.edit("night-light", {"do": "set", "name": "item.title", "value": "From one tab"})
    body = {"revision": old, "changes": [{"do": "set", "name": "item.title", "value": "From the other tab"}]}
    answer = client.post("/items/night-light/edit", json=body, headers={"accept": "application/json"})
    assert answer.status_code == 409
    assert answer.json()["sentence"].startswith("The record was changed elsewhere since this page was drawn.")
    assert 'title = "From one tab"' in file.read_text(encoding="utf-8")


def test_changes_are_told_over_the_websocket(client, folder: Path):
    file = folder / "night-light" / "item.toml"
    with client.socket("/items/night-light/changes") as socket:
        first = socket.receive_json()
        answer = client.edit("night-light", {"do": "set", "name": "item.title", "value": "Moon"}, what="title")
        told = socket.receive_json()
        assert told == {"revision": answer["revision"], "what": "title", "outside": False}
        assert told["revision"] != first["revision"]
        file.write_text(file.read_text(encoding="utf-8") + "\n# from an editor\n", encoding="utf-8")
        assert socket.receive_json()["outside"] is True


def test_the_first_page_goes_back_to_any_state(client, folder: Path):
    file = folder / "night-light" / "item.toml"
    before = file.read_bytes()
    for words in ("One", "Two", "Three"):
        client.edit("night-light", {"do": "set", "name": "item.title", "value": words}, what=f"title {words}")
    page = client.get("/items/night-light/overview").text
    assert "title Two" in page
    assert 'data-goto="1"' in page
    for number, status in ((1, 200), (99, 422), ("x", 422), (None, 422)):
        body = {"number": number, "revision": client.revision("night-light")}
        assert client.ask("/items/night-light/go-to", body).status_code == status
    assert file.read_bytes() == before
    assert client.ask("/items/night-light/redo", {"revision": client.revision("night-light")}).status_code == 200
    assert 'title = "One"' in file.read_text(encoding="utf-8")
