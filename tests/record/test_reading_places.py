"""Heat and touch are read at surfaces and cords too, not only at parts and nodes."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.record import RecordError, dump, read_text


def record(quantity: str, value: str, at: str) -> str:
    return f'lidoff = 1\nreading = [{{ quantity = "{quantity}", value = "{value}", at = "{at}" }}]\n'


@pytest.mark.parametrize(
    ("quantity", "value"), [("temperature", "85 °C"), ("temperature_rise", "40 K"), ("touch_current", "0.2 mA")]
)
@pytest.mark.parametrize("at", ["surface:moon shell", "wire:W1"])
def test_heat_and_touch_at_a_surface_or_a_cord(quantity: str, value: str, at: str) -> None:
    item = read_text(record(quantity, value, at), Path("item.toml"))
    assert item.readings[0].at == at
    assert read_text(dump(item), Path("item.toml")).readings[0].at == at


def test_other_quantities_name_a_part_or_two_nodes() -> None:
    with pytest.raises(RecordError, match="neither"):
        read_text(record("voltage", "230 V", "surface:moon shell"), Path("item.toml"))
