"""The page is one file that asks for nothing, and what a user wrote stays text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from tests.writeup.page_reading import read_page

import lidoff
from lidoff.account import Account, take
from lidoff.demo import NAMES
from lidoff.writeup import compose, render

pytestmark = pytest.mark.xdist_group("writeup")

HOSTILE = (
    '"><script>alert(1)</script><img src=x onerror=alert(2)>{{ 7*7 }}</svg></style><a href="javascript:alert(3)">&amp;'
)

RECORD = """
lidoff = 1
[item]
title = '''EVIL item'''
class = "II"
kind = "luminaire"
use = '''EVIL use'''
note = '''EVIL note'''
[[part]]
ref = "R<script>1"
kind = "resistor"
marking = '''EVIL marking'''
value = "1k"
note = '''EVIL part note'''
nodes = ["live", '''a"><b>EVIL''']
[[part]]
ref = "LED1"
kind = "led"
series = 60
forward_voltage = "2.9 V"
nodes = { anode = '''a"><b>EVIL''', cathode = "m" }
[[part]]
ref = "D1"
kind = "diode"
nodes = { anode = "m", cathode = "neutral" }
[[state]]
name = '''EVIL state'''
note = '''EVIL state note'''
[[state]]
name = '''EVIL other'''
set = { LED1 = { series = 50 } }
[[meter]]
name = '''EVIL meter'''
kind = "power-meter"
[[reading]]
quantity = "power"
value = "about 3 W"
meter = '''EVIL meter'''
state = '''EVIL state'''
note = '''EVIL reading note'''
[[sighting]]
about = '''EVIL about'''
seen = '''EVIL seen'''
note = '''EVIL sighting note'''
photo = '''EVIL.jpg'''
[[wire]]
ref = '''EVIL wire'''
print = '''EVIL print'''
note = '''EVIL wire note'''
[[gap]]
between = ["live", '''surface:EVIL surface''']
clearance = "2 mm"
note = '''EVIL gap note'''
[[surface]]
name = '''EVIL surface'''
node = '''EVIL node'''
[plug]
kind = '''EVIL plug'''
wiring = { '''EVIL brown''' = "live" }
note = '''EVIL plug note'''
[verdict]
text = '''EVIL verdict'''
for = '''EVIL people'''
because = ['''EVIL because''']
"""


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> tuple[Account, str]:
    folder = tmp_path_factory.mktemp("hostile")
    text = RECORD.replace("EVIL", HOSTILE).replace(f"'''{HOSTILE} brown'''", f'"{HOSTILE_KEY}"')
    (folder / "item.toml").write_text(text, encoding="utf-8")
    account = take(lidoff.open(folder))
    return account, render(compose(account))


HOSTILE_KEY = HOSTILE.replace('"', '\\"')


def test_what_a_user_wrote_is_never_markup(hostile: tuple[Account, str], pages: Mapping[str, str]) -> None:
    account, page = hostile
    assert account.states, account.skipped
    seen = read_page(page)
    allowed = {element for page in pages.values() for element, _ in read_page(page).elements}
    assert {element for element, _ in seen.elements} <= allowed | {"blockquote", "dl", "dt", "dd"}
    assert not seen.named("script")
    assert not seen.named("img")
    for _, attributes in seen.elements:
        assert not [name for name in attributes if name.startswith("on")]
        assert all("javascript:" not in value or name != "href" for name, value in attributes.items())
    for place in (
        "item",
        "use",
        "note",
        "part note",
        "state note",
        "seen",
        "verdict",
        "people",
        "because",
        "plug note",
    ):
        assert f"{HOSTILE} {place}" in " ".join(seen.text.split()), place


def test_a_hostile_title_stays_inside_the_title(hostile: tuple[Account, str]) -> None:
    head = hostile[1].partition("</head>")[0]
    assert head.count("<title>") == 1
    assert "<script" not in head


@pytest.mark.parametrize("name", NAMES)
def test_the_page_asks_for_nothing(name: str, pages: Mapping[str, str]) -> None:
    """No address but the names of vocabularies, no script, no outside style, no picture file beside its own pixels."""
    page = re.sub(r'<image href="data:image/jpeg;base64,[A-Za-z0-9+/=]+"', "<image", pages[name])
    seen = read_page(page)
    for element in ("script", "link", "img", "iframe", "object", "embed", "base", "form", "video"):
        assert not seen.named(element), element
    for element, attributes in seen.elements:
        for key in ("src", "srcset", "href", "xlink:href", "data", "action", "poster"):
            assert attributes.get(key, "#").startswith("#"), (element, key, attributes[key])
    without_names = page.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert not re.search(r"https?:|//[a-z]|url\(|@import", without_names)
    policy = next(one for one in seen.named("meta") if one.get("http-equiv") == "Content-Security-Policy")
    assert policy["content"].startswith("default-src 'none'")


@pytest.mark.parametrize("name", NAMES)
def test_every_link_has_its_place_and_no_name_stands_twice(name: str, pages: Mapping[str, str]) -> None:
    seen = read_page(pages[name])
    ids = [attributes["id"] for _, attributes in seen.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    targets = {attributes["href"].removeprefix("#") for attributes in seen.named("a")}
    assert targets <= set(ids)
    assert len(targets) >= 8


@pytest.mark.parametrize("name", NAMES)
def test_pictures_stand_in_the_page_with_words_for_those_who_hear_it(name: str, pages: Mapping[str, str]) -> None:
    seen = read_page(pages[name])
    pictures = [one for one in seen.named("svg") if set(one.get("class", "").split()) & {"lidoff", "mini"}]
    assert len([one for one in pictures if "mini" not in one.get("class", "")]) >= 4
    assert all(one.get("role") == "img" for one in pictures)
    assert all(one.get("aria-label") for one in pictures if "mini" in one.get("class", ""))


@pytest.mark.parametrize("name", NAMES[1:])
def test_the_same_record_gives_the_same_page(name: str, demo_folder: Path, pages: Mapping[str, str]) -> None:
    assert render(compose(take(lidoff.open(demo_folder / name)))) == pages[name]


def test_numbers_hold_on_to_their_units() -> None:
    from lidoff.writeup.blocks import Document, Paragraph

    page = render(
        Document(title="x", subtitle=(), blocks=(Paragraph(text=("It takes 5.4 W at 230 V, 40 % of 3 mA.",)),))
    )
    assert "5.4\N{NO-BREAK SPACE}W at 230\N{NO-BREAK SPACE}V, 40\N{NO-BREAK SPACE}% of 3\N{NO-BREAK SPACE}mA" in page
