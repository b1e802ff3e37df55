"""A solved circuit: waves of every node and part over one settled cycle, and their figures."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np

from lidoff.circuit.model import Circuit, CircuitError, Element
from lidoff.cycle.arrays import Booleans, Floats
from lidoff.cycle.arrays import Ints as Indices
from lidoff.cycle.builder import Built, Flow, Pins
from lidoff.cycle.kernel import _B1, GAMMA
from lidoff.cycle.settle import Settled, Stretch, states_of
from lidoff.cycle.stamps import wiper_share
from lidoff.figures import bounds, input_figures, input_figures_direct, light_figures, limits, resample

SAMPLES: Final = 2048
BALANCE: Final = 5e-3  # energy that may be missing, share of the input
_FEW: Final = 8  # steps of a cycle below which their means say nothing of its peaks


@dataclass(frozen=True, slots=True)
class Waves:
    """Points in time order; weights sum to 1 over whole cycles, and are seconds where it is a stretch of time."""

    time: Floats  # [s]
    weight: Floats
    x: Floats
    curves: Floats
    slopes: Floats

    def across(self, pair: tuple[int, int]) -> Floats:
        """Voltage between two unknowns [V], -1 being the reference node."""
        zero = np.zeros(self.time.shape[0])
        a, b = (self.x[:, k] if k >= 0 else zero for k in pair)
        return a - b

    def flow(self, flows: list[Flow]) -> Floats:
        """Current of a branch [A], as `Built.pins` lists what it is made of."""
        total = np.zeros(self.time.shape[0])
        for what, a, b, value in flows:
            if what == "g":
                total += value * self.across((a, b))
            elif what == "c":
                total += value * self.slopes[:, a]
            elif what == "x":
                total += value * self.x[:, a]
            else:
                total += value * self.curves[:, a]
        return total


def _joined(stretches: list[Stretch]) -> Waves:
    spans = [s.time[-1] for s in stretches]
    starts = np.concatenate([[0.0], np.cumsum(spans)])
    weight = np.concatenate([s.weight for s in stretches])
    return Waves(
        time=np.concatenate([s.time + start for s, start in zip(stretches, starts[:-1], strict=True)]),
        weight=weight / weight.sum(),
        x=np.concatenate([s.x for s in stretches]),
        curves=np.concatenate([s.curves for s in stretches]),
        slopes=np.concatenate([s.slopes for s in stretches]),
    )


def _track_in_use(knob: Element) -> float:
    """Share of a potentiometer's track that is in circuit; of one joined at all three pins, half counts as much."""
    share = wiper_share(knob.number("position"), str(knob.values["taper"]))
    if knob.node("a") is None:
        return 1.0 - share
    return share if knob.node("b") is None else 0.5


class Solution:
    """The settled cycle of a circuit (or of a rhythm of several cycles), or its operating point on a dc supply.

    `time` [s], `voltage` [V] and `current` [A] give one cycle (all cycles of a rhythm) as uniform samples, the end
    point left out; `figures` the mapping that `figures --json` prints.
    """

    def __init__(self, circuit: Circuit, built: Built, settled: Settled, warnings: tuple[str, ...] = ()) -> None:
        self.circuit = circuit
        self.built = built
        self.run = settled
        self.cycles = len(settled.stretches)
        self.waves = _joined(settled.stretches)
        self.warnings = (*circuit.warnings, *warnings, *settled.notes)

    @property
    def settled(self) -> bool:
        """Whether the cycle repeats, its energy balances and next to none of it is still being stored."""
        return self.run.settled and abs(self.balance) + abs(self.gain) <= BALANCE

    @property
    def direct(self) -> bool:
        """Whether this is an operating point on a dc supply."""
        return self.circuit.supply.dc is not None

    @property
    def period(self) -> float:
        """Length of the record [s]: the mains period times `cycles`."""
        return self.cycles / self.circuit.supply.frequency

    # Waves at the solver's own points -------------------------------------------------------------------------------

    def _node(self, node: str) -> Floats | float:
        name = self.circuit.resolve(node)
        if name not in self.built.index:
            raise CircuitError(
                f"There is no node '{node}' in this state; the nodes are {', '.join(sorted(self.built.index))}"
            )
        at = self.built.index[name]
        return self.waves.x[:, at] if at >= 0 else 0.0

    def _pins(self, ref: str) -> tuple[Element, Pins]:
        element = self.circuit.element(ref)
        if element is None or ref not in self.built.pins:
            known = ", ".join(e.ref for e in self.circuit.elements)
            raise CircuitError(f"There is no part '{ref}' in this state; the parts are {known}")
        return element, self.built.pins[ref]

    def part_wave(self, ref: str) -> tuple[Floats, Floats]:
        """Voltage [V] and current [A] of a part (of one member of a block) at the solver's points (`waves`)."""
        element, pins = self._pins(ref)
        return self.waves.across(pins.pair) / element.series, self.waves.flow(pins.current) / element.parallel

    @cached_property
    def _input(self) -> tuple[Floats, Floats]:
        if self.direct:
            pins = self.built.pins["supply"]
            return self.waves.across(pins.pair), -self.waves.flow(pins.current)
        return self.waves.x[:, self.built.index["live"]], self.waves.x[:, self.built.source]

    @cached_property
    def light(self) -> Floats:
        """Light at the solver's points, as LEDs in series times amperes, summed over the LED parts."""
        total = np.zeros(self.waves.time.shape[0])
        for element in self.led_parts:
            leds = element.number("series") * element.series
            total += leds * self.waves.flow(self.built.pins[element.ref].current)
        return total

    @cached_property
    def led_parts(self) -> tuple[Element, ...]:
        """The LED parts of the circuit."""
        return tuple(e for e in self.circuit.elements if e.kind == "led")

    # Uniform waves --------------------------------------------------------------------------------------------------

    def _uniform(self, wave: Floats) -> Floats:
        if self.direct:
            return np.full(SAMPLES, float(wave[-1]))
        t = self.waves.time
        whole = np.concatenate([[0.0], t])
        return np.asarray(np.interp(self.time, whole, np.concatenate([wave[-1:], wave])), dtype=np.float64)

    @cached_property
    def time(self) -> Floats:
        """Uniform instants over the record, end point left out [s]."""
        count = SAMPLES * self.cycles
        return np.asarray(np.arange(count) * (self.period / count), dtype=np.float64)

    def voltage(self, first: str, second: str = "neutral") -> Floats:
        """Voltage between two nodes over the record [V], at `time`. Raises CircuitError for an unknown node."""
        difference = self._node(first) - self._node(second)
        return self._uniform(np.broadcast_to(np.asarray(difference, dtype=float), self.waves.time.shape))

    def current(self, ref: str) -> Floats:
        """Current through a part (one member of a block) over the record [A]; "input" for the mains current."""
        if ref == "input":
            return self._uniform(self._input[1])
        return self._uniform(self.part_wave(ref)[1])

    def input_waves(self) -> tuple[Floats, Floats]:
        """Voltage [V] and current [A] at the item's terminals, at `time`."""
        return self._uniform(self._input[0]), self._uniform(self._input[1])

    def light_wave(self) -> Floats:
        """Light (LEDs in series times amperes) at `time`."""
        return self._uniform(self.light)

    # Figures --------------------------------------------------------------------------------------------------------

    def _mean(self, wave: Floats) -> float:
        return float(self.waves.weight @ wave)

    def _rms(self, wave: Floats) -> float:
        return math.sqrt(max(self._mean(wave * wave), 0.0))

    @cached_property
    def _steps(self) -> tuple[Indices, Floats, Indices, Booleans]:
        """Each of the solver's steps: its first point, its weight, its last point, and whether it has but one."""
        w, t = self.waves.weight, self.waves.time
        span = self.period
        # A step of two stages shows by their weights and by their distance in time; other steps have one point.
        second = np.zeros(t.shape[0], dtype=bool)
        first_w, second_w = w[:-1] * span, w[1:] * span
        second[1:] = (np.abs(second_w * _B1 - first_w * GAMMA) < 1e-6 * second_w) & (
            np.abs(np.diff(t) - first_w) < 1e-6 * first_w + 1e-15
        )
        starts = np.flatnonzero(~second)
        ends = np.append(starts[1:], t.shape[0]) - 1
        return starts, np.asarray(np.add.reduceat(w, starts), dtype=np.float64), ends, ends == starts

    def _peaks(self, waves: Floats) -> Floats:
        """Largest value of each wave (a row each) at the solver's points, as far as the means over steps bear it out.

        Where a capacitor begins to charge within a step, the step's end makes up in one instant for what its first
        stage had not seen: that point stands too high, the mean over the step is right. A step's end therefore counts
        only up to what the means on one of its sides, carried on in a straight line, would give there.
        """
        starts, weight, ends, one = self._steps
        if self.direct or starts.shape[0] < _FEW:
            return np.asarray(waves.max(axis=1))
        mean = np.add.reduceat(self.waves.weight * waves, starts, axis=1) / weight
        around = np.concatenate([mean[:, -1:], mean, mean[:, :2]], axis=1)  # from the step before to two after
        change = np.abs(np.diff(around, axis=1))
        most = np.maximum(mean + change[:, :-2], around[:, 2:-1] + change[:, 2:])
        most += 5e-3 * np.abs(waves).max(axis=1)[:, None]
        last = waves[:, ends]
        end = np.where(one, last, np.minimum(last, most))
        return np.asarray(np.maximum(end.max(axis=1), waves[:, starts].max(axis=1)))

    def _peak(self, wave: Floats) -> float:
        return float(self._peaks(wave[None, :])[0])

    def _dissipation(self, pins: Pins) -> float:
        """Mean power turned into heat or light [W]: what capacitors and coils only borrow is left out."""
        power = 0.0
        for pair, flows in pins.branches:
            if all(flow[0] == "c" for flow in flows):
                continue
            power += self._mean(self.waves.across(pair) * self.waves.flow(flows))
        return power

    @cached_property
    def powers(self) -> Mapping[str, float]:
        """Mean dissipation of each part, block members summed [W]."""
        return {e.ref: self._dissipation(self.built.pins[e.ref]) for e in self.circuit.elements}

    @cached_property
    def balance(self) -> float:
        """Energy in, less heat and light, less what is stored more at the end than at the start; share of the input.

        Where the input is nearly all reactive, of 2 % of the volt-amperes instead.
        """
        voltage, current = self._input
        missing = self._mean(voltage * current) - sum(self.powers.values())
        return missing / self._yardstick - self.gain

    @cached_property
    def gain(self) -> float:
        """Power that goes into what is stored more at the end of the record than at its start; share of the input."""
        if self.direct:
            return 0.0
        stretches = self.run.stretches
        stored = self._stored(stretches[-1].end.x) - self._stored(stretches[0].start.x)
        return stored / self.period / self._yardstick

    @cached_property
    def _yardstick(self) -> float:
        """The power [W] that shares of the input are taken of."""
        voltage, current = self._input
        apparent = self._rms(voltage) * self._rms(current)
        return max(abs(self._mean(voltage * current)), 0.02 * apparent, 1e-9)

    def _stored(self, x: Floats) -> float:
        z = states_of(self.built.system, x)
        coils = 0.5 * float(z @ self.built.inductances @ z)
        source = self.circuit.supply.inductance
        if source > 0.0 and self.built.source >= 0:
            coils -= 0.5 * source * float(x[self.built.source]) ** 2  # beyond the terminals
        return coils + sum(0.5 * value * float(z[k]) ** 2 for _, k, value in self.built.stores)

    @cached_property
    def _part_table(self) -> Mapping[str, dict[str, float]]:
        # All parts' waves in one array: a few large sums are much quicker than many small ones.
        refs = [e.ref for e in self.circuit.elements]
        if not refs:
            return {}
        waves = np.stack([wave for ref in refs for wave in self.part_wave(ref)])
        means = waves @ self.waves.weight
        rms = np.sqrt(np.maximum(np.square(waves) @ self.waves.weight, 0.0))
        peaks = self._peaks(np.abs(waves))
        return {
            ref: {
                "voltage_rms": float(rms[at]),
                "voltage_peak": float(peaks[at]),
                "voltage_mean": float(means[at]),
                "current_rms": float(rms[at + 1]),
                "current_mean": float(means[at + 1]),
                "current_peak": float(peaks[at + 1]),
                "power": self.powers[ref],
            }
            for ref, at in zip(refs, range(0, 2 * len(refs), 2), strict=True)
        }

    def part_figures(self, ref: str) -> dict[str, float]:
        """Figures of one part: rms, peak and mean of its voltage [V] and current [A], and its mean dissipation [W]."""
        self._pins(ref)
        return dict(self._part_table[ref])

    @cached_property
    def harmonic_waves(self) -> tuple[Floats, Floats, Floats]:
        """Mains voltage [V], mains current [A] and light as cell averages, `SAMPLES` a cycle: for spectra."""
        whole = np.concatenate([[0.0], self.waves.time])
        rows = np.stack([*self._input, self.light])
        rows = np.concatenate([rows[:, -1:], rows], axis=1)
        cells = resample(whole, rows, 0.0, float(whole[-1]), SAMPLES * self.cycles)
        return cells[0], cells[1], cells[2]

    def input_figures(self) -> dict[str, Any]:
        """What the mains sees, at the item's terminals."""
        voltage, current = self._input
        if self.direct:
            return input_figures_direct(voltage=float(voltage[-1]), current=float(current[-1]))
        uniform = self.harmonic_waves
        return input_figures(
            current_rms=self._rms(current),
            current_peak=self._peak(np.abs(current)),
            power=self._mean(voltage * current),
            voltage_rms=self._rms(voltage),
            voltage_uniform=uniform[0],
            current_uniform=uniform[1],
            cycles=self.cycles,
            current_mean=self._mean(current),
        )

    def light_figures(self, *, with_pst: bool = False) -> dict[str, Any] | None:
        """What the eye sees; None where there is no light source. The slow flickermeter's figure only on request."""
        if not self.led_parts:
            return None
        means = [self._mean(self.waves.flow(self.built.pins[e.ref].current)) for e in self.led_parts]
        shares = [e.number("series") * e.series * mean for e, mean in zip(self.led_parts, means, strict=True)]
        brightest = shares.index(max(shares))
        mean = self._mean(self.light)
        most, least = self._peaks(np.stack([self.light, -self.light])).tolist()
        figures = light_figures(
            light_uniform=np.full(SAMPLES, mean) if self.direct else self.harmonic_waves[2],
            mains_frequency=self.circuit.supply.frequency,
            cycles=self.cycles,
            light_mean=mean,
            light_max=most,
            light_min=-least,
            mean_current=means[brightest] / self.led_parts[brightest].parallel,
            sources=[e.ref for e in self.led_parts],
            with_pst=with_pst and not self.direct,
        )
        if figures is not None and self.direct:
            figures |= {"frequency": None, "percent_flicker": None, "flicker_index": None, "svm": None}
        return figures

    @property
    def dimmed(self) -> bool:
        """Whether a knob before a triac or thyristor is turned away from its bright end (5 % of its track and more)."""
        if not any(e.kind in ("triac", "thyristor") for e in self.circuit.elements):
            return False
        return any(_track_in_use(e) > 0.05 for e in self.circuit.elements if e.kind == "potentiometer")

    def figures(self, *, comparisons: bool = True) -> dict[str, Any]:
        """The mapping that `lidoff figures --json` prints.

        Without `comparisons` (the published limits and bounds beside the figures) it is quicker.
        """
        supply, given, light = self.circuit.supply, self.input_figures(), self.light_figures(with_pst=comparisons)
        if comparisons and not self.direct:
            self._compare(given, light)
        document: dict[str, Any] = {
            "state": self.circuit.state,
            "supply": {
                "voltage_rms": None if self.direct else supply.voltage,
                "frequency": None if self.direct else supply.frequency,
            },
            "input": given,
            "light": light,
            "parts": {e.ref: self.part_figures(e.ref) for e in self.circuit.elements},
            "settled": self.settled,
            "cycles": self.cycles,
            "solver": {
                "error_estimate": max(abs(self.balance), self.run.remainder, 1e-4),
                "energy_balance": self.balance,
                "cycles_run": self.run.run,
                "steps": sum(s.steps for s in self.run.stretches),
                "trembling": any(s.trembling for s in self.run.stretches),
            },
            "warnings": list(self.warnings),
        }
        if self.direct:
            document["supply"]["dc"] = supply.dc
        if self.cycles > 1:
            document["range"] = self._range()
        return document

    def _compare(self, given: dict[str, Any], light: dict[str, Any] | None) -> None:
        """Adds the published limits and bounds to the figures."""
        about, supply = self.circuit.about, self.circuit.supply
        voltage, current, wave = self.harmonic_waves
        given["limits"] = limits(
            given,
            voltage_uniform=voltage,
            current_uniform=current,
            mains_frequency=supply.frequency,
            cycles=self.cycles,
            mains_voltage=supply.voltage,
            kind=about.kind or "other",
            rated_power=about.rated_power,
            region=about.region,
            dimmed=self.dimmed,
            light=light is not None,
        )
        if light is not None:
            light["bounds"] = bounds(
                light,
                light_uniform=wave,
                mains_frequency=supply.frequency,
                cycles=self.cycles,
                region=about.region,
                dimmed=self.dimmed,
            )

    def _range(self) -> dict[str, list[float]]:
        """Least and largest of input power, current and light over the single cycles of the record."""
        voltage, current = self._input
        edges = np.searchsorted(self.waves.time, np.arange(1, self.cycles) / self.circuit.supply.frequency + 1e-12)
        rows: dict[str, list[float]] = {"input.power": [], "input.current_rms": [], "light.mean": []}
        for part in np.split(np.arange(self.waves.time.shape[0]), edges):
            w = self.waves.weight[part] * self.cycles
            rows["input.power"].append(float(w @ (voltage[part] * current[part])))
            rows["input.current_rms"].append(math.sqrt(float(w @ current[part] ** 2)))
            rows["light.mean"].append(float(w @ self.light[part]))
        return {key: [min(values), max(values)] for key, values in rows.items()}
