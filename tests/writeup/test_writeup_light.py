"""The page on light, mains and radio: what a viewer, a camera, the supply and a radio make of the invented items."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

import lidoff
from lidoff.account import Account, take
from lidoff.writeup.blocks import Heading, Paragraph, Picture, plain
from lidoff.writeup.chapters.light import light
from lidoff.writeup.chapters.summary import large


def told(account: Account) -> str:
    """All running text and captions of the chapter."""
    texts = []
    for block in light(account):
        if isinstance(block, Paragraph):
            texts.append(plain(block.text))
        elif isinstance(block, Picture):
            texts.append(plain(block.caption))
        elif isinstance(block, Heading):
            texts.append(block.text)
    return " ".join(texts)


def pictures(account: Account) -> list[str]:
    return [block.wide for block in light(account) if isinstance(block, Picture)]


def test_the_dimmed_lamp_tells_viewer_camera_and_radio(accounts: Mapping[str, Account]) -> None:
    text = told(accounts["globe-lamp"])
    assert "goes out altogether 120 times a second" in text
    assert "exposure of 1/30, 1/60 or 1/120 s averages it away; 1/50 s leaves" in text
    assert "it stands still at 24, 30 or 60" in text
    assert "No accepted metric covers what the corner of the eye sees" in text
    assert "dB over it at 300 kHz, give or take 10 dB" in text
    assert "medium-wave radio" in text
    assert "A choke of 1 mH with an X capacitor of 100 nF would take off about" in text
    assert "It is loudest with VR1 at 20 % of its travel: steps of 82 mA, some 6 dB more." in text
    assert "The light over one cycle of the mains." in text
    assert "Solved again at 230 V 50 Hz, it takes" in text
    assert "never to be tried" in text
    drawn = " ".join(pictures(accounts["globe-lamp"]))
    for name in ("lidoff light", "lidoff harmonics", "lidoff spectrum"):
        assert name in drawn


def test_every_limit_at_120_volts_is_said_not_to_be_meant(accounts: Mapping[str, Account]) -> None:
    text = told(accounts["globe-lamp"])
    assert "None of these limits is meant for this item or this state." in text
    page = accounts["globe-lamp"].main
    assert page is not None
    assert page.page is not None
    harmonics = [one for one in page.page.input_limits if one.id.startswith("harmonics")]
    assert len(harmonics) == 5
    assert all("no limits for mains below 220 V" in " ".join(one.scope) for one in harmonics)


def test_the_charger_shows_each_route_for_comparison(accounts: Mapping[str, Account]) -> None:
    text = told(accounts["lamp-charger"])
    assert "any one of the three routes is enough" in text
    assert "None of these limits is meant for this item or this state." in text
    assert "Solved again at 120 V 60 Hz, it takes 6.6 W, as here" in text
    assert "IEC 61000-3-2 sets no limits for the harmonics there." in text
    assert "A switch-mode stage would, and is not in the computed wave." in text
    drawn = " ".join(pictures(accounts["lamp-charger"]))
    assert all(f"Class C, route {n}" in drawn for n in (1, 2, 3))
    assert "lidoff spectrum" not in drawn
    assert "lidoff light" not in drawn


@pytest.mark.parametrize("name", ["globe-lamp", "night-light", "lamp-charger"])
def test_each_picture_has_both_forms_and_a_sentence(name: str, accounts: Mapping[str, Account]) -> None:
    for block in light(accounts[name]):
        if isinstance(block, Picture):
            assert 'viewBox="0 0 360' in block.narrow
            assert 'viewBox="0 0 960' in block.wide
            assert plain(block.caption).endswith(".")


def test_nothing_claims_that_a_test_was_passed(accounts: Mapping[str, Account]) -> None:
    for account in accounts.values():
        text = told(account).replace("nothing passes or fails", "")
        for word in ("passes", "passed", "complies", "compliant", "conforms", "safe"):
            assert word not in text


def test_a_glow_is_not_held_against_the_lines_of_flicker(tmp_path: Path) -> None:
    """3 uA through an open switch of 100 Mohm: no warning, no picture, no table and no large figure of its flicker."""
    parts = (
        ("S1", "switch", "closed = false", '["live", "a"]'),
        ("BR1", "bridge", "", '{ ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" }'),
        ("R1", "resistor", 'value = "1k5"', '["x", "m"]'),
        ("LED1", "led", 'series = 60\nforward_voltage = "2.9 V"', '{ anode = "p", cathode = "x" }'),
    )
    rows = "".join(
        f'[[part]]\nref = "{ref}"\nkind = "{kind}"\n{keys}\nnodes = {nodes}\n' for ref, kind, keys, nodes in parts
    )
    (tmp_path / "item.toml").write_text(f'lidoff = 1\n[item]\nkind = "luminaire"\n{rows}', encoding="utf-8")
    account = take(lidoff.open(tmp_path))
    assert account.main is not None
    assert account.main.page is not None
    assert account.main.page.warning is None
    assert account.main.page.light_bounds == ()
    text = told(account)
    assert "a glow at most; its flicker is not held against anything" in text
    assert "The light over one cycle" not in text
    assert not [one for one in large(account.main) if "flicker" in one.caption]
