"""The picture of two unknowns together."""

from __future__ import annotations

import xml.etree.ElementTree as ET

from lidoff.readings import Joint, joint_svg

SVG = "{http://www.w3.org/2000/svg}"


def joint(keys: tuple[str, str] = ("R1.value", "LED1.forward_voltage")) -> Joint:
    """A narrow ridge on a grid of 21 by 15."""
    x = tuple(1000.0 * 1.05**i for i in range(21))
    y = tuple(2.5 + 0.05 * j for j in range(15))
    density = tuple(tuple(1.0 / (1.0 + (i - 20 + 1.4 * j) ** 2) for i in range(21)) for j in range(15))
    return Joint(keys=keys, units=("ohm", "V"), x=x, y=y, density=density, logarithmic=(True, False))


def test_it_is_one_picture_with_its_axes_named() -> None:
    """A self-contained SVG with a viewBox, both names, and marks with units on both axes."""
    root = ET.fromstring(joint_svg(joint()))
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox")
    words = [element.text or "" for element in root.iter(f"{SVG}text")]
    assert "R1.value" in words
    assert "LED1.forward_voltage" in words
    assert sum("kΩ" in word for word in words) >= 2
    assert sum(word.endswith(" V") for word in words) >= 2


def test_the_likelier_half_lies_within_the_95_percent() -> None:
    """Two shades, the darker covering less ground."""
    area = {"0.22": 0.0, "0.6": 0.0}
    for element in ET.fromstring(joint_svg(joint())).iter(f"{SVG}rect"):
        area[element.attrib["fill-opacity"]] += float(element.attrib["width"])
    assert 0.0 < area["0.6"] < area["0.22"]


def test_names_are_escaped() -> None:
    """A ref is whatever somebody wrote."""
    ET.fromstring(joint_svg(joint(keys=("R<1>.value", "a&b.value"))))
