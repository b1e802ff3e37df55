"""What a `[[wire]]` of the record says: size by its print, by its strands, by its mass, by its resistance."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any, Final

from lidoff.markings import MarkingError, decode
from lidoff.standards.conductors import METALS, RESISTANCE

_AREA: Final = re.compile(r"(?:\d+\s*[x×gG]\s*)?(\d+(?:[.,]\d+)?)\s*(?:mm|m㎡|㎟)", re.IGNORECASE)
_FOUR_WIRES: Final = re.compile(r"four|4[- ]?w|kelvin|millivolt|\bmv\b|milliohm|low[- ]ohm", re.IGNORECASE)
_BOTH_CORES: Final = re.compile(r"both|loop|out and back|there and back", re.IGNORECASE)
_ONE_CORE: Final = re.compile(r"one core|single core|each core|per core", re.IGNORECASE)


def name_of(wire: Mapping[str, Any]) -> str:
    """How to name a wire in a sentence."""
    return f"wire {wire['ref']}" if "ref" in wire else "the wire"


def area_of(wire: Mapping[str, Any]) -> float | None:
    """Cross-section [mm2] of a core as printed ("2x0.75mm2", "H03VVH2-F 2X0.5", "3G1.5"), None without one."""
    printed = str(wire.get("print", ""))
    match = _AREA.search(printed)
    if match:
        return float(match[1].replace(",", "."))
    try:
        best = decode(printed, kind="cord").as_json()["candidates"] if printed.strip() else []
    except MarkingError:
        return None
    return float(best[0]["value"]) if best else None


def area_by_strands(wire: Mapping[str, Any]) -> float | None:
    """Cross-section [mm2] by number and diameter of strands, None without both."""
    if "strands" not in wire or "strand_diameter" not in wire:
        return None
    return float(wire["strands"] * math.pi / 4.0 * (1e3 * wire["strand_diameter"]) ** 2)


def area_by_mass(wire: Mapping[str, Any], metal: str = "copper") -> float | None:
    """Cross-section [mm2] of a bare core by its mass per metre, if it is of that metal."""
    mass = wire.get("mass")
    return None if mass is None else 1e3 * float(mass) / METALS.number(metal, "density")


def ohms_per_km(wire: Mapping[str, Any]) -> float | None:
    """Measured resistance per length [ohm/km] of what was measured, lead resistance taken off; None without it."""
    resistance, length = wire.get("resistance"), wire.get("length")
    if resistance is None or length is None or "value" not in resistance:
        return None
    return 1e3 * (float(resistance["value"]) - float(resistance.get("leads", 0.0))) / float(length)


def measured_well(wire: Mapping[str, Any]) -> bool:
    """Whether the leads are not in the reading: a four-wire method, or their resistance noted."""
    resistance = wire.get("resistance", {})
    return "leads" in resistance or bool(_FOUR_WIRES.search(str(resistance.get("method", ""))))


def of_one_core(wire: Mapping[str, Any]) -> bool | None:
    """Whether one core was measured (True), both in a row (False), or nobody says (None)."""
    method = f"{wire.get('resistance', {}).get('method', '')} {wire.get('note', '')}"
    if _BOTH_CORES.search(method):
        return False
    return True if _ONE_CORE.search(method) else None


def highest_ohms_per_km(area: float) -> float | None:
    """Highest resistance [ohm/km] at 20 degC of a flexible plain copper core of `area` [mm2], None without a row."""
    row = RESISTANCE.get(area, "5/6 plain")
    return None if row is None else row.number


def product(wire: Mapping[str, Any], per_km: float) -> float | None:
    """Resistance per length times mass per length [ohm g/m2]: resistivity times density, whatever the size."""
    mass = wire.get("mass")
    return None if mass is None else per_km * float(mass)  # [ohm/km] x [kg/m]


def product_of(metal: str) -> float:
    """The same of a pure metal of the table `conductor-metals`."""
    return METALS.number(metal, "resistivity") * METALS.number(metal, "density")
