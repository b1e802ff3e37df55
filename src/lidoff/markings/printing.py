"""Values written as markings, in every scheme: the way back from `decode`.

Used to show what a part of a wanted value would carry, and to test that whatever is printed decodes to itself.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

from lidoff.markings.capacitor_tables import CHIP_LETTERS, TANTALUM_VOLTS, VOLTAGE_LETTERS
from lidoff.markings.colours import COLOURS, DIGITS
from lidoff.markings.cord_tables import awg_area
from lidoff.markings.disc_tables import DISC_SIZES
from lidoff.markings.fuse_tables import PLUG_FUSES, SPEEDS, banded_current
from lidoff.markings.tolerances import LETTERS
from lidoff.markings.type_tables import DIODES
from lidoff.markings.zener_tables import ZENERS
from lidoff.quantity import e_series, iec60062, percent, with_interval

_NEAR: Final = 1e-9


class Printer(NamedTuple):
    """One way of printing: its name, the kind of part, and the writer (None where the scheme cannot say the value)."""

    name: str
    kind: str
    write: Callable[[float], str | None]


def _split(value: float, digits: int) -> tuple[int, int] | None:
    """`value` as that many significant digits and a power of ten, if it has no more."""
    if value <= 0:
        return None
    text = f"{value:.{digits - 1}e}"
    if abs(float(text) / value - 1.0) > _NEAR:
        return None
    number, power = text.split("e")
    return int(number.replace(".", "")), int(power) - digits + 1


def _colour_of(**wanted: float) -> str | None:
    """The colour with that digit, power, tolerance or coefficient."""
    ((name, value),) = wanted.items()
    found = (colour.name for colour in COLOURS.values() if getattr(colour, name) == value)
    return next(found, None)


def bands(
    value: float, tolerance: float | None = 0.05, digits: int = 2, coefficient: float | None = None
) -> str | None:
    """A resistor's bands: value [ohm], tolerance (share, None for no band), coefficient [1/K]."""
    parts = _split(value, digits)
    if parts is None:
        return None
    names = [DIGITS[int(digit)] for digit in str(parts[0])]
    multiplier = _colour_of(power=parts[1])
    ends = [_colour_of(tolerance=tolerance)] if tolerance is not None else []
    if coefficient is not None:
        ends.append(_colour_of(coefficient=coefficient))
    if multiplier is None or None in ends:
        return None
    return " ".join([*names, multiplier, *(end for end in ends if end)])


def digit_code(value: float, digits: int = 2) -> str | None:
    """Significant digits and a power of ten from 0 to 7, of a value in the scheme's own unit; None where outside."""
    parts = _split(value, digits)
    return None if parts is None or not 0 <= parts[1] <= 7 else f"{parts[0]}{parts[1]}"


def eia_96(value: float) -> str | None:
    """The EIA-96 code of a resistor [ohm], or None where it is not an E96 value."""
    parts = _split(value, 3)
    if parts is None or parts[0] not in e_series(96) or not -3 <= parts[1] <= 5:
        return None
    return f"{e_series(96).index(parts[0]) + 1:02d}{'ZYXABCDEF'[parts[1] + 3]}"


def eia_prefix(value: float) -> str | None:
    """The letter-first chip code at 5 % of a resistor [ohm], or None where it is not an E24 value."""
    parts = _split(value, 2)
    if parts is None or parts[0] not in e_series(24) or not -2 <= parts[1] - 1 <= 5:
        return None
    return f"{'SRABCDEF'[parts[1] + 1]}{e_series(24).index(parts[0]) + 25:02d}"


def current_sense(value: float) -> str | None:
    """A shunt under one ohm as R and decimals [ohm], "R005"."""
    return iec60062(value, "ohm") if 0 < value < 1 else None


def milli_letter(value: float) -> str | None:
    """A shunt with L for the decimal point of milliohms [ohm], "5L0"."""
    if not 0.0005 <= value < 1:
        return None
    whole, _, part = f"{value * 1000:.6f}".rstrip("0").partition(".")
    return f"{'' if whole == '0' else whole}L{part or '0'}"


def inductor_bands(value: float) -> str | None:
    """A moulded inductor's four bands at 10 % [H]."""
    return bands(value * 1e6, 0.10) if value > 0 else None


def military_inductor(value: float) -> str | None:
    """The five bands of a military inductor at 10 % [H]; gold is the decimal point under 10 µH."""
    parts = _split(value, 2)
    if parts is None:
        return None
    number, power = str(parts[0]), parts[1] + 6
    first, second = (DIGITS[int(digit)] for digit in number)
    middle = {-1: f"{first} gold {second}", -2: f"gold {first} {second}"}.get(power)
    if middle is None:
        multiplier = _colour_of(power=power) if power >= 0 else None
        if multiplier is None:
            return None
        middle = f"{first} {second} {multiplier}"
    return f"wide silver {middle} silver"


def fuse_text(value: float, speed: str = "T", breaking: str = "L", volts: float = 250.0) -> str:
    """A fuse as IEC 60127-1 has it: rated current [A], speed and breaking letters, rated voltage [V]."""
    current = f"{value * 1000:g}mA" if value < 1 else f"{value:g}A"
    return f"{speed}{current}{breaking}{volts:g}V"


def fuse_bands(value: float, speed: str = "T") -> str | None:
    """A fuse's three bands and its wide one: rated current [A]; None where IEC 60127 has no such current."""
    exact = f"{value * 1000:.3e}".split("e")
    number, power = int(exact[0].replace(".", "")[:2]), int(exact[1]) - 1
    multiplier = _colour_of(power=power)
    current, listed = banded_current(number, power)
    if multiplier is None or not listed or abs(current - value) > 1e-9:
        return None
    return f"{DIGITS[number // 10]} {DIGITS[number % 10]} {multiplier} wide {SPEEDS[speed].colour}"


def plug_fuse(value: float) -> str | None:
    """A plug fuse [A]."""
    return f"BS 1362 {value:g}A" if any(row.current == value for row in PLUG_FUSES) else None


def varistor_disc(value: float, disc: int = 10, letter: str = "K") -> str | None:
    """A varistor disc: voltage at 1 mA [V], disc [mm]."""
    code = digit_code(value)
    return None if code is None or disc not in DISC_SIZES else f"{disc:02d}D{code}{letter}"


def ntc_disc(value: float, disc: int = 9) -> str:
    """An inrush thermistor: resistance at 25 °C [ohm], disc [mm]."""
    return f"{value:g}D-{disc}"


def zener_code(value: float, stem: str = "BZX55", letter: str = "C") -> str:
    """A Pro Electron zener number: voltage [V]."""
    return f"{stem}{letter}{iec60062(value, 'V').removesuffix('V')}"


def registered_zener(value: float) -> str | None:
    """The registered 1 W zener of that voltage [V], 5 %."""
    rows = (row for row in ZENERS.values() if row.number >= 4728 and row.power == 1.0 and row.voltage == value)
    row = next(rows, None)
    return None if row is None else f"1N{row.number}A"


def registered_diode(value: float) -> str | None:
    """The registered rectifier of one ampere for that repetitive reverse voltage [V]."""
    rows = (row for row in DIODES if row.number.startswith("1N40") and row.voltage == value)
    return next((row.number for row in rows), None)


def harmonised_cord(value: float, code: str = "H03VVH2-F", cores: int = 2, earth: bool = False) -> str:
    """A harmonised cord print: cross-section [mm²]."""
    return f"{code} {cores}{'G' if earth else 'X'}{value:g}"


def gauge(value: float) -> str | None:
    """The American gauge whose area [mm²] that is."""
    return next((f"{number}AWG" for number in range(4, 41) if abs(awg_area(number) / value - 1.0) < 1e-3), None)


def ip_code(value: float) -> str | None:
    """An IP code of two digits, as a number."""
    digits = f"{int(value):02d}"
    return f"IP{digits}" if value == int(value) and digits[0] in "0123456" and len(digits) == 2 else None


def voltage_code(volts: float) -> str | None:
    """The two-character code of a rated voltage [V]: 100 V is "2A"."""
    for row in VOLTAGE_LETTERS.values():
        for power in range(4):
            if abs(float(f"{row.significand}e{power}") - volts) < 1e-9:
                return f"{power}{row.letter}"
    return None


def _picofarads(value: float, letter: str = "", before: str = "") -> str | None:
    code = digit_code(round(value * 1e12, 6))
    return None if code is None or not letter or letter not in LETTERS else f"{before}{code}{letter}"


def _chip_capacitor(value: float) -> str | None:
    parts = _split(round(value * 1e12, 9), 2)
    letters = [letter for letter, number in CHIP_LETTERS.items() if parts and abs(number * 10 - parts[0]) < 1e-9]
    return f"{letters[0]}{parts[1] + 1}" if parts and letters and 0 <= parts[1] + 1 <= 7 else None


def _tantalum(value: float) -> str | None:
    code = digit_code(round(value * 1e12, 6))
    volts = {volt: letter for letter, volt in TANTALUM_VOLTS.items()}
    return f"{code}{volts[16.0]}" if code and code[2] in "45678" else None


def _micro_decimal(value: float) -> str | None:
    text = f"{value * 1e6:.6f}".rstrip("0").removeprefix("0")
    return f"{text}K63" if 1e-9 <= value < 1e-6 and not text.endswith(".") else None


def _written(unit: str, letter_share: float | None = None, tail: str = "") -> Callable[[float], str | None]:
    def write(value: float) -> str | None:
        tolerance = f" ±{percent(letter_share)}" if letter_share else ""
        return f"{with_interval(value, 0.0, unit)}{tolerance}{tail}" if value > 0 else None

    return write


def _letter_code(unit: str, tail: str = "") -> Callable[[float], str | None]:
    return lambda value: f"{iec60062(value, unit)}{tail}" if value > 0 else None


PRINTERS: Final = (
    Printer(name="three bands", kind="resistor", write=lambda value: bands(value, None)),
    Printer(name="four bands", kind="resistor", write=lambda value: bands(value, 0.05)),
    Printer(name="four bands, silver", kind="resistor", write=lambda value: bands(value, 0.10)),
    Printer(name="five bands", kind="resistor", write=lambda value: bands(value, 0.01, 3)),
    Printer(name="six bands", kind="resistor", write=lambda value: bands(value, 0.01, 3, 50e-6)),
    Printer(name="three digits", kind="resistor", write=digit_code),
    Printer(name="four digits", kind="resistor", write=lambda value: digit_code(value, 3)),
    Printer(name="letter code", kind="resistor", write=_letter_code("ohm")),
    Printer(name="letter code with tolerance", kind="resistor", write=_letter_code("ohm", "J")),
    Printer(name="EIA-96", kind="resistor", write=eia_96),
    Printer(name="letter-first chip code", kind="resistor", write=eia_prefix),
    Printer(name="current-sense R", kind="resistor", write=current_sense),
    Printer(name="current-sense L", kind="resistor", write=milli_letter),
    Printer(name="written out", kind="resistor", write=_written("ohm", 0.05)),
    Printer(name="cement block", kind="resistor", write=lambda value: f"5W{iec60062(value, 'ohm')}J"),
    Printer(name="three digits", kind="capacitor", write=lambda value: digit_code(round(value * 1e12, 6))),
    Printer(name="three digits with tolerance", kind="capacitor", write=lambda value: _picofarads(value, "K")),
    Printer(name="with voltage code", kind="capacitor", write=lambda value: _picofarads(value, "J", "2A")),
    Printer(name="letter code", kind="capacitor", write=_letter_code("F")),
    Printer(name="letter code with tolerance", kind="capacitor", write=_letter_code("F", "K")),
    Printer(name="written out", kind="capacitor", write=_written("F")),
    Printer(name="interference capacitor", kind="capacitor", write=_written("F", None, " K X2 275V~")),
    Printer(name="electrolytic", kind="capacitor", write=_written("F", None, " 400V 105°C")),
    Printer(name="film, microfarads", kind="capacitor", write=_micro_decimal),
    Printer(name="EIA-198", kind="capacitor", write=_chip_capacitor),
    Printer(name="tantalum", kind="capacitor", write=_tantalum),
    Printer(name="four bands", kind="inductor", write=inductor_bands),
    Printer(name="military bands", kind="inductor", write=military_inductor),
    Printer(name="three digits", kind="inductor", write=lambda value: digit_code(round(value * 1e6, 9))),
    Printer(name="letter code", kind="inductor", write=_letter_code("H")),
    Printer(name="written out", kind="inductor", write=_written("H")),
    Printer(name="text", kind="fuse", write=fuse_text),
    Printer(name="bands", kind="fuse", write=fuse_bands),
    Printer(name="plug fuse", kind="fuse", write=plug_fuse),
    Printer(name="disc", kind="varistor", write=varistor_disc),
    Printer(name="disc", kind="thermistor", write=ntc_disc),
    Printer(name="Pro Electron", kind="zener", write=zener_code),
    Printer(name="registered", kind="zener", write=registered_zener),
    Printer(name="voltage code", kind="zener", write=_letter_code("V")),
    Printer(name="registered", kind="diode", write=registered_diode),
    Printer(name="harmonised", kind="cord", write=harmonised_cord),
    Printer(name="print", kind="cord", write=lambda value: f"2x{value:g}mm2"),
    Printer(name="gauge", kind="cord", write=gauge),
    Printer(name="IP code", kind="enclosure", write=ip_code),
    Printer(name="taper letter", kind="potentiometer", write=lambda value: f"B{iec60062(value, 'ohm').upper()}"),
)
"""Every scheme's printer: value in the unit of the kind."""
