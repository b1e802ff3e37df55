"""The value of a quantity at a place of a solved circuit, and what a meter of a given kind shows of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from lidoff.circuit import Circuit
from lidoff.cycle import Solution
from lidoff.figures.wave import Floats
from lidoff.readings import meters
from lidoff.readings.body import BY_BODY, reason_against_body
from lidoff.readings.words import amount, name_of
from lidoff.record import Meter, Reading, Table

Place = str | tuple[str, str]

_VOLTS: Final = ("voltage", "voltage_ac", "voltage_dc", "voltage_peak")
_AMPERES: Final = ("current", "current_ac", "current_dc", "current_peak")
_INPUT: Final[Mapping[str, str]] = Table(
    {
        "power": "power",
        "apparent_power": "apparent_power",
        "power_factor": "power_factor",
        "displacement_factor": "displacement_factor",
        "thd": "thd",
        "crest_factor": "crest_factor",
    }
)
_LIGHT: Final = ("percent_flicker", "flicker_index", "svm")
UNPOWERED: Final = ("resistance", "capacitance", "diode_test", "esr", "inductance")

# Why a quantity cannot be held against the circuit at all.
_NOT_COMPUTED: Final[Mapping[str, str]] = Table(
    {
        "illuminance": (
            "how much light falls on the meter hangs on the distance and the lamp's optics; read by the same meter at "
            "the same place in another state as well, the two can be held against each other"
        ),
        "luminous_flux": (
            "the circuit tells the LEDs' current, not their efficacy; read by the same meter in another state as well, "
            "the two can be held against each other"
        ),
        # Computed all the same, but from more than one settled cycle (see `aside`).
        "inrush_current": "it is no value of the settled cycle",
        "temperature": "no thermal resistances are in the record",
        "temperature_rise": "no thermal resistances are in the record",
        "insulation_resistance": "insulation is not part of the circuit",
        "earth_resistance": "the protective conductor is judged by itself, not by the circuit",
        "time": "no time is computed for a settled cycle",
        "length": "it is no electrical value",
        "mass": "it is no electrical value",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A value, and what the meter shows of it [unit of the quantity].

    `also` is what the meter shows if it is of the other coupling, None where that makes no difference; `uncertain` the
    half-width that the meter's own behaviour adds; `note` why shown and true differ, as a clause.
    """

    true: float
    shown: float
    also: float | None = None
    uncertain: float = 0.0
    note: str = ""


def reason_against(circuit: Circuit, reading: Reading) -> str | None:
    """Why no value can be computed for that reading, as a clause; None where one can."""
    quantity, at = reading.quantity, reading.at
    if quantity in _NOT_COMPUTED:
        return _NOT_COMPUTED[quantity]
    if quantity in BY_BODY and not (quantity == "leakage_current" and circuit.element(str(at)) is not None):
        return reason_against_body(circuit, quantity, at)
    if quantity == "energy" and reading.over is None:
        return 'the time over which it was counted is not written; write it beside the reading, as over = "24 h"'
    if isinstance(at, tuple):
        if quantity not in (*_VOLTS, *UNPOWERED, *_LIGHT, "frequency", "crest_factor"):
            return f"a {name_of(quantity)} is read in a wire or at a part, not between two nodes; write at = the part"
        known = {circuit.resolve(node) for node in circuit.nodes} | {"live", "neutral", "earth"}
        missing = [node for node in at if circuit.resolve(node) not in known]
        if missing:
            return f"no part joins the node '{missing[0]}' in this state"
    elif at != "input" and circuit.element(at) is None:
        return f"{at} plays no part in this state"
    elif at != "input" and quantity in ("apparent_power", "reactive_power", "power_factor", "displacement_factor"):
        return f"a {name_of(quantity)} is computed at the input only"
    element = circuit.element(at) if isinstance(at, str) else None
    if quantity == "esr" and element is not None and element.values.get("esr") == 0.0 and "esr" not in element.unknown:
        return f'the record gives {at} no esr, so none is computed; write esr = "?" to have it inferred'
    if quantity in _LIGHT and not any(element.kind == "led" for element in circuit.elements):
        return "there is no LED part in this circuit to give light"
    return None


class _Tap:
    """Voltage and current at one place of a solution, as figures and as uniform waves."""

    def __init__(self, solution: Solution, at: Place) -> None:
        self.solution = solution
        self.at = at
        self.figures: Mapping[str, Any] = {}
        if at == "input":
            self.figures = solution.input_figures()
        elif isinstance(at, str):
            self.figures = solution.part_figures(at)

    def wave(self, quantity: str) -> Floats:
        """The wave of volts or amperes that a quantity is about."""
        solution = self.solution
        volts = quantity.startswith("voltage")
        if isinstance(self.at, tuple):
            return solution.voltage(*self.at)
        if self.at == "input":
            voltage, current = solution.input_waves()
            return voltage if volts else current
        if not volts:
            return solution.current(self.at)
        points = solution.part_wave(self.at)[0]
        if solution.direct:
            return np.full(solution.time.size, float(points[-1]))
        time = solution.waves.time
        return np.asarray(
            np.interp(solution.time, np.concatenate([[0.0], time]), np.concatenate([points[-1:], points]))
        )

    def rms(self, quantity: str) -> float:
        key = f"{quantity.partition('_')[0]}_rms"
        return float(self.figures[key]) if key in self.figures else meters.rms(self.wave(quantity))

    def mean(self, quantity: str) -> float:
        key = f"{quantity.partition('_')[0]}_mean"
        return float(self.figures[key]) if key in self.figures else float(self.wave(quantity).mean())

    def peak(self, quantity: str) -> float:
        key = f"{quantity.partition('_')[0]}_peak"
        return float(self.figures[key]) if key in self.figures else meters.peak_hold(self.wave(quantity))


def wave_at(solution: Solution, at: Place, base: str) -> Floats:
    """The wave of "voltage" [V] or "current" [A] at a place, at `solution.time`."""
    return _Tap(solution, at).wave(base)


def true_value(solution: Solution, quantity: str, at: Place, *, of_light: bool = False) -> float | None:
    """The value of a quantity at a place [SI unit of the quantity]; None where it has none in this solution.

    `voltage` and `current` are the rms of everything, `_dc` the mean, `_ac` the rms of what is left after the mean.
    `of_light` makes `frequency` that of the light.
    """
    if quantity in _LIGHT:
        if quantity == "percent_flicker":
            return meters.percent_flicker(solution.light) if solution.led_parts else None
        light = solution.light_figures()
        return None if light is None or light.get(quantity) is None else float(light[quantity])
    if quantity == "frequency":
        if of_light:
            light = solution.light_figures()
            return None if light is None or light["frequency"] is None else float(light["frequency"])
        return None if solution.direct else float(solution.circuit.supply.frequency)
    if quantity == "angle":
        return firing_angle(solution, at)
    tap = _Tap(solution, at)
    base, _, tail = quantity.partition("_")
    if quantity in (*_VOLTS, *_AMPERES):
        if tail == "dc":
            return tap.mean(quantity)
        if tail == "peak":
            return tap.peak(quantity)
        size = tap.rms(quantity)
        return math.sqrt(max(size * size - tap.mean(base) ** 2, 0.0)) if tail == "ac" else size
    if quantity == "reactive_power":
        apparent, power = tap.figures["apparent_power"], tap.figures["power"]
        return None if apparent is None else math.sqrt(max(apparent**2 - power**2, 0.0))
    if quantity == "crest_factor" and at != "input":
        which = "voltage" if isinstance(at, tuple) else "current"
        size = tap.rms(which)
        return tap.peak(which) / size if size > 0.0 else None
    value = tap.figures.get(_INPUT.get(quantity, quantity))
    return None if value is None else float(value)


def firing_angle(solution: Solution, at: Place) -> float | None:
    """Degrees from the mains' zero to the firing of a latching part, or at the input to the onset of current [deg].

    The mean of both half-cycles; None where nothing fires.
    """
    omega = 360.0 * solution.circuit.supply.frequency
    if isinstance(at, str) and at in solution.built.latches:
        which = solution.built.latches.index(at)
        angles = []
        for stretch in solution.run.stretches:
            on = [row for row in stretch.flips if int(row[1]) == which and int(row[2]) == 0 and int(row[3]) != 0]
            # A diac may fire several times in a half-cycle: the first counts.
            halves: dict[int, float] = {}
            for row in on:
                halves.setdefault(int(row[0] * omega // 180.0), row[0] * omega % 180.0)
            angles += list(halves.values())
        return float(np.mean(angles)) if angles else None
    if at != "input":
        return None
    size = np.abs(solution.input_waves()[1])
    flows = size > 0.02 * size.max()
    angle = solution.time * omega % 360.0
    begins = []
    for start in (0.0, 180.0):
        here = angle[(angle >= start) & (angle < start + 180.0) & flows]
        if here.size:
            begins.append(float(here.min()) - start)
    return float(np.mean(begins)) if begins else None


def observe(solution: Solution, reading: Reading, meter: Meter | None) -> Seen | None:
    """What the meter of a reading shows at its place in this solution; None where there is no such value."""
    kind = meter.kind if meter is not None else "?"
    true = _value(solution, reading, of_light=kind == "light-meter")
    if true is None or not math.isfinite(true):
        return None
    model = _MODELS.get(kind)
    if model is None or solution.direct or meter is None:
        return Seen(true=true, shown=true)
    return model(solution, reading, meter, true)


def _value(solution: Solution, reading: Reading, *, of_light: bool) -> float | None:
    if reading.quantity == "energy":
        power = true_value(solution, "power", reading.at)
        return None if power is None or reading.over is None else power * reading.over
    quantity = "current" if reading.quantity == "leakage_current" else reading.quantity
    return true_value(solution, quantity, reading.at, of_light=of_light)


def _extra(meter: Meter, key: str) -> float | None:
    value = meter.extra.get(key)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _scaled(true: float, shown: float, plain: float) -> float:
    """`shown`, got from the uniform wave, brought to the scale of the finer figure `true`."""
    return true * shown / plain if plain != 0.0 else shown


def _band_limited(solution: Solution, meter: Meter, wave: Floats) -> Floats:
    return meters.seen(wave, solution.period, _extra(meter, "bandwidth"), _extra(meter, "sample_rate"))


def _is_limited(meter: Meter) -> bool:
    return _extra(meter, "bandwidth") is not None or _extra(meter, "sample_rate") is not None


def _crest(meter: Meter, wave: Floats, shown: float, unit: str) -> tuple[float, str]:
    """Half-width and clause for a crest factor beyond the meter's limit."""
    limit = _extra(meter, "crest_factor_limit")
    found = meters.crest(wave)
    if limit is None or found is None or found <= limit:
        return 0.0, ""
    least = meters.overloaded(wave, limit) / meters.rms(wave) * shown
    return shown - least, (
        f"the wave's crest factor of {found:.2g} is beyond the meter's limit of {limit:g}, so it may show as little as "
        f"{amount(least, unit)}"
    )


def _averaging(solution: Solution, reading: Reading, meter: Meter, true: float) -> Seen:
    quantity = reading.quantity
    if quantity not in ("voltage", "current", "voltage_ac", "current_ac"):
        return Seen(true=true, shown=true)
    wave = _band_limited(solution, meter, _Tap(solution, reading.at).wave(quantity))
    shown = meters.average_responding(wave)
    plain = meters.ac_rms(wave) if quantity.endswith("_ac") else meters.rms(wave)
    shown = _scaled(true, shown, plain)
    off = shown / true - 1.0 if true else 0.0
    note = ""
    if abs(off) >= 0.02:
        how = "high" if off > 0 else "low"
        shape = "pulses this narrow" if off < -0.2 else "this wave"
        note = f"an averaging meter reads {abs(off):.0%} {how} on {shape}, for it is scaled for a sine".replace(
            "%", " %"
        )
    return Seen(true=true, shown=shown, note=note)


def _true_rms(solution: Solution, reading: Reading, meter: Meter, true: float) -> Seen:
    quantity = reading.quantity
    if quantity not in ("voltage", "current", "voltage_ac", "current_ac"):
        return Seen(true=true, shown=true)
    wave = _Tap(solution, reading.at).wave(quantity)
    corner = _extra(meter, "low_corner")
    coupled = corner is None or corner > 0.0
    everything = true
    shown, also, note = true, None, ""
    if coupled and not quantity.endswith("_ac"):
        left = meters.high_pass(wave, solution.period, corner or 0.0)
        shown = _scaled(true, meters.rms(left), meters.rms(wave))
        if abs(shown - everything) > 0.005 * everything:
            also = everything if corner is None else None
            note = (
                f"the true rms of everything is {amount(everything, reading.unit)}, but an ac-coupled meter leaves the "
                f"mean out and shows {amount(shown, reading.unit)}"
            )
    if _is_limited(meter):
        limited = _band_limited(solution, meter, wave)
        size = meters.rms(wave)
        shown *= meters.rms(limited) / size if size > 0.0 else 1.0
    half, clause = _crest(meter, wave, shown, reading.unit)
    return Seen(true=true, shown=shown, also=also, uncertain=half, note="; ".join(filter(None, (note, clause))))


def _power_meter(solution: Solution, reading: Reading, meter: Meter, true: float) -> Seen:
    quantity = reading.quantity
    if reading.at != "input":
        return Seen(true=true, shown=true)
    shown, note, half = true, "", 0.0
    if _is_limited(meter) and quantity in ("power", "current", "voltage", "apparent_power", "power_factor"):
        raw = solution.input_waves()
        plain = power_figures(*raw)
        seen = power_figures(*(_band_limited(solution, meter, wave) for wave in raw))
        shown = _scaled(true, seen[quantity], plain[quantity])
        if abs(shown / true - 1.0 if true else 0.0) >= 0.01:
            note = f"its bandwidth lets it show {amount(shown, reading.unit)} of {amount(true, reading.unit)}"
    if quantity in ("current", "apparent_power", "power"):
        half, clause = _crest(meter, solution.input_waves()[1], shown, reading.unit)
        note = "; ".join(filter(None, (note, clause)))
    return Seen(true=true, shown=shown, uncertain=half, note=note)


def power_figures(voltage: Floats, current: Floats) -> dict[str, float]:
    """What a sampling power meter makes of waves [V], [A] over whole cycles: means of products and of squares.

    Power [W], voltage [V] and current [A] rms, apparent power [VA], power factor (IEEE Std 1459, single phase).
    """
    volts, amperes = meters.rms(voltage), meters.rms(current)
    power = float(np.dot(voltage, current)) / voltage.size
    apparent = volts * amperes
    return {
        "power": power,
        "voltage": volts,
        "current": amperes,
        "apparent_power": apparent,
        "power_factor": power / apparent if apparent > 0.0 else 0.0,
    }


def _clamp(solution: Solution, reading: Reading, meter: Meter, true: float) -> Seen:
    quantity = reading.quantity
    if quantity not in ("current", "current_ac", "current_peak"):
        return Seen(true=true, shown=true)
    wave = _Tap(solution, reading.at).wave("current")
    corner = _extra(meter, "low_corner")
    passed = meters.high_pass(wave, solution.period, corner or 0.0)
    if quantity == "current_peak":
        shown, plain = meters.peak_hold(passed), meters.peak_hold(wave)
    else:
        shown = meters.rms(passed)
        plain = meters.ac_rms(wave) if quantity == "current_ac" else meters.rms(wave)
    shown = _scaled(true, shown, plain)
    note, also = "", None
    if abs(shown - true) > 0.01 * abs(true):
        also = true if corner is None else None
        note = (
            f"a clamp of the transformer kind passes no mean and droops on the slow part of the wave: it shows "
            f"{amount(shown, reading.unit)} where {amount(true, reading.unit)} flows"
        )
    half, clause = _crest(meter, passed, shown, reading.unit) if quantity != "current_peak" else (0.0, "")
    return Seen(true=true, shown=shown, also=also, uncertain=half, note="; ".join(filter(None, (note, clause))))


def _scope(solution: Solution, reading: Reading, meter: Meter, true: float) -> Seen:
    quantity = reading.quantity
    if not _is_limited(meter) or quantity not in (*_VOLTS, *_AMPERES):
        return Seen(true=true, shown=true)
    wave = _Tap(solution, reading.at).wave(quantity)
    limited = _band_limited(solution, meter, wave)
    rule: Callable[[Floats], float] = meters.peak_hold if quantity.endswith("_peak") else meters.rms
    if quantity.endswith("_dc"):
        return Seen(true=true, shown=true)
    return Seen(true=true, shown=_scaled(true, rule(limited), rule(wave)))


def _light_meter(solution: Solution, reading: Reading, meter: Meter, true: float) -> Seen:
    if reading.quantity != "percent_flicker" or not _is_limited(meter):
        return Seen(true=true, shown=true)
    wave = solution.light_wave()
    shown = meters.percent_flicker(_band_limited(solution, meter, wave))
    plain = meters.percent_flicker(wave)
    if shown is None or plain is None:
        return Seen(true=true, shown=true)
    shown = _scaled(true, shown, plain)
    note = ""
    if abs(shown - true) > 1.0:
        note = f"its bandwidth smooths the light: of {true:.3g} % it shows {shown:.3g} %"
    return Seen(true=true, shown=shown, note=note)


_Model = Callable[[Solution, Reading, Meter, float], Seen]
_MODELS: Final[Mapping[str, _Model]] = Table(
    {
        "power-meter": _power_meter,
        "multimeter-average": _averaging,
        "multimeter-true-rms": _true_rms,
        "clamp": _clamp,
        "scope": _scope,
        "light-meter": _light_meter,
    }
)
