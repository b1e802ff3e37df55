"""A recording from its file to figures, what it looks like, what is wrong with it, and the computed cycle under it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from lidoff.circuit import Circuit, CircuitError
from lidoff.figures import input_figures_uniform, limits
from lidoff.figures.wave import Floats
from lidoff.readings.model import Corrected, Look, Overlay, Recorded
from lidoff.readings.recordings import repair
from lidoff.readings.recordings.cycles import Cut, averaged, cut, frequency_of, phase_of, taken, turned
from lidoff.readings.recordings.looks import features_of, looks, looks_without_voltage
from lidoff.readings.recordings.overlay import overlay_of
from lidoff.readings.recordings.samples import Samples, SamplesError, read_samples
from lidoff.record import Item, Recording, Table, effective_supply

_POINTS: Final = 500  # of an averaged cycle, where there are as many samples
_ROUGH: Final = 0.3  # share of the rms above order 40 from which a wave is noise first of all
_OFFSET: Final = 0.03  # mean over rms from which an offset is worth taking out
_RAMP: Final = 0.08  # step from end to beginning over the swing that points to drift
_UNLIKE: Final = 0.5  # correlation of one cycle with the average below which nothing repeats
_LOW_RATE: Final = 20  # samples a cycle for a wave's shape
_PLAUSIBLE: Final = (60.0, 300.0)  # [V] rms of a mains voltage
_VOLTS_PARTS: Final = ("power", "apparent_power", "power_factor", "displacement_factor", "voltage_rms")


def read_all(item: Item, circuits: Mapping[str | None, Circuit]) -> tuple[Recorded, ...]:
    """Every recording of the record, in its order; `circuits` are those already built, by state."""
    return tuple(read_recording(item, recording, circuits) for recording in item.recordings)


def read_recording(item: Item, recording: Recording, circuits: Mapping[str | None, Circuit]) -> Recorded:
    """One recording. Whatever is wrong with it stands in `problems`; nothing is raised."""
    try:
        samples = read_samples(item.folder, recording)
    except SamplesError as error:
        return Recorded(recording=recording, problems=(str(error),))
    return _Reading(item, recording, samples, circuits).recorded()


@dataclass(frozen=True, slots=True)
class _Cycle:
    """The average cycle, begun at the voltage's rising zero where there is a voltage."""

    voltage: Floats | None
    current: Floats | None
    every: Floats | None  # each cycle of the current (cycles, points)


class _Reading:
    def __init__(
        self, item: Item, recording: Recording, samples: Samples, circuits: Mapping[str | None, Circuit]
    ) -> None:
        self.item = item
        self.recording = recording
        self.samples = samples
        self.circuits = circuits
        self.problems = list(samples.problems)
        self.name = recording.file
        self.corrections: list[str] = []

    def recorded(self) -> Recorded:
        columns = self.samples.columns
        voltage, current = columns.get("voltage"), columns.get("current")
        if voltage is None and current is None:
            other = columns.get("light", columns.get("power"))
            assert other is not None
            return self._of_other(other)
        nominal = self._nominal()
        lead = voltage if voltage is not None else current
        assert lead is not None
        step = self.samples.step
        if step > 1.0 / (4.0 * nominal):
            self.problems.append(
                f"{self.name}: one sample every {step:.3g} s is a log of readings, not a wave: a mains cycle of "
                f"{1e3 / nominal:.0f} ms cannot be seen in it."
            )
            return Recorded(recording=self.recording, problems=tuple(self.problems))
        found = frequency_of(lead, step)
        self._check_frequency(found, nominal, lead, step)
        cut_out = cut(self.samples.count, step, found, nominal, of_voltage=voltage is not None)
        if cut_out is None:
            self.problems.append(
                f"{self.name}: {1e3 * self.samples.duration:.3g} ms is less than one mains cycle; record at least 20 "
                "ms."
            )
            return Recorded(recording=self.recording, problems=tuple(self.problems))
        return self._with_cycles(voltage, current, cut_out)

    def _nominal(self) -> float:
        """The mains frequency of the record [Hz]."""
        frequency = effective_supply(self.item, self.recording.state).frequency
        return float(frequency) if isinstance(frequency, float | int) else 50.0

    def _of_other(self, wave: Floats) -> Recorded:
        found = frequency_of(wave, self.samples.step)
        self.problems.append(f"{self.name}: holds neither volts nor amperes, so there are no input figures.")
        return Recorded(recording=self.recording, frequency=found, problems=tuple(self.problems))

    def _check_frequency(self, found: float | None, nominal: float, lead: Floats, step: float) -> None:
        if found is None:
            beyond = _strongest(lead, step)
            if beyond is not None and not 40.0 <= beyond <= 70.0:
                self.problems.append(
                    f"{self.name}: repeats at about {beyond:.3g} Hz, which is no mains frequency; look at the time "
                    f"column, its unit or sample_rate."
                )
            return
        cycles = self.samples.duration * found
        # A single cycle does not tell its own length well enough to contradict anybody.
        least = 0.9 if "voltage" in self.samples.columns else 1.9
        if abs(found / nominal - 1.0) > 0.03 and cycles > least and self._known_frequency():
            self.problems.append(
                f"{self.name}: repeats at {found:.3g} Hz, but the record says {nominal:g} Hz; one of the two, or the "
                f"time column, is wrong."
            )

    def _known_frequency(self) -> bool:
        """Whether somebody wrote the mains frequency, or the region that tells it."""
        supply = effective_supply(self.item, self.recording.state)
        return "frequency" not in supply.assumed or self.item.region is not None

    def _with_cycles(self, voltage: Floats | None, current: Floats | None, cut_out: Cut) -> Recorded:
        v = None if voltage is None else taken(voltage, cut_out)
        i = None if current is None else taken(current, cut_out)
        figures = _figures(v, i, cut_out.cycles)
        if v is not None and i is not None and self.recording.at == "input":
            figures["limits"] = self._limits(figures, v, i, cut_out)
        cycle = self._average(v, i, cut_out)
        per_cycle = cut_out.span / cut_out.cycles
        if per_cycle < _LOW_RATE:
            self.problems.append(f"{self.name}: {per_cycle:.0f} samples a cycle are too few to tell the wave's shape.")
        doubt = self._check_waves(v, i, cycle, figures, cut_out)
        kinds: tuple[Look, ...] = ()
        corrected: Corrected | None = None
        if cycle.current is not None:
            kinds, fixed = self._looks(cycle, 1.0 / cut_out.frequency, doubt)
            if self.corrections:
                corrected = Corrected(figures=Table(_figures(cycle.voltage, fixed, 1)), what=tuple(self.corrections))
            cycle = replace(cycle, current=fixed)
        overlay = self._overlay(cycle, cut_out)
        return Recorded(
            recording=self.recording,
            figures=Table(figures),
            frequency=cut_out.frequency,
            cycles=cut_out.cycles,
            looks_like=kinds,
            problems=tuple(dict.fromkeys(self.problems)),
            corrected=corrected,
            overlay=overlay,
            cycle=Table(
                {
                    name: tuple(float(x) for x in wave)
                    for name, wave in (("voltage", cycle.voltage), ("current", cycle.current))
                    if wave is not None
                }
            ),
        )

    def _limits(self, figures: Mapping[str, Any], v: Floats, i: Floats, cut_out: Cut) -> list[dict[str, Any]]:
        """The published limits beside the figures, as `figures --json` has them for a computed cycle."""
        item = self.item
        return limits(
            figures,
            voltage_uniform=v,
            current_uniform=i,
            mains_frequency=cut_out.frequency,
            cycles=cut_out.cycles,
            mains_voltage=item.rated.get("voltage"),
            kind=item.kind or "other",
            rated_power=item.rated.get("power"),
            region=item.region,
            light=any(part.kind in ("led", "lamp") for part in item.parts),
            origin="recorded",
        )

    def _average(self, v: Floats | None, i: Floats | None, cut_out: Cut) -> _Cycle:
        points = int(min(_POINTS, max(16, round(cut_out.span / cut_out.cycles))))
        points -= points % 2
        voltage = averaged(v, cut_out.cycles, points)[0] if v is not None else None
        current, every = averaged(i, cut_out.cycles, points) if i is not None else (None, None)
        if voltage is not None:
            angle = phase_of(voltage)
            voltage = turned(voltage, angle)
            current = turned(current, angle) if current is not None else None
        return _Cycle(voltage, current, every)

    # What is wrong --------------------------------------------------------------------------------------------------

    def _check_waves(
        self, v: Floats | None, i: Floats | None, cycle: _Cycle, figures: Mapping[str, Any], cut_out: Cut
    ) -> float:
        """Notes what is wrong with the waves; returns how far the current is in doubt [0 to 1]."""
        if v is not None:
            volts = float(figures["voltage_rms"])
            low, high = _PLAUSIBLE
            if self.recording.at == "input" and not low <= volts <= high:
                self.problems.append(
                    f"{self.name}: {volts:.3g} V rms is no mains voltage; look at the probe's factor (scale) and unit."
                )
            self._check_clipping(v, "voltage")
        if i is None:
            return 0.0
        self._check_clipping(i, "current")
        doubt = self._check_noise(i, cycle, cut_out)
        power, factor = figures.get("power"), figures.get("power_factor")
        if power is not None and power < 0.0:
            self.problems.append(
                f"{self.name}: the power is {power:.3g} W, below nothing: "
                + (
                    "the clamp was on the wrong way round."
                    if factor is not None and factor < -0.3
                    else "what was recorded is not the current of a load that was on."
                )
            )
        if cut_out.cycles > 1 and cycle.every is not None:
            sizes = np.sqrt((cycle.every**2).mean(axis=1))
            if float(np.ptp(sizes)) > 0.1 * float(sizes.mean()):
                self.problems.append(
                    f"{self.name}: the current changes while it is recorded, from {sizes[0]:.3g} A to {sizes[-1]:.3g} "
                    f"A rms over {cut_out.cycles} cycles; the figures are of the average."
                )
        return doubt

    def _check_clipping(self, wave: Floats, what: str) -> None:
        for extreme in (float(wave.max()), float(wave.min())):
            at = np.abs(wave - extreme) <= 1e-9 * max(abs(extreme), 1e-12)
            # Several samples in a row exactly at the end of the range; quantised noise does not sit there so long.
            run = _longest_run(at)
            if (
                run >= max(6, wave.size // 60)
                and run < wave.size // 2
                and abs(extreme) > 0.3 * float(np.abs(wave).max())
            ):
                steps = np.unique(wave).size
                if steps > 12:
                    self.problems.append(
                        f"{self.name}: the {what} stands at {extreme:.3g} for {run} samples in a row: the range was "
                        f"too small and its tops are cut off."
                    )
                    return

    def _check_noise(self, i: Floats, cycle: _Cycle, cut_out: Cut) -> float:
        rough = _rough(i, cut_out.cycles)
        if cycle.every is not None and cut_out.cycles >= 3:
            alike = _alike(cycle.every)
            if alike < _UNLIKE:
                self.problems.append(
                    f"{self.name}: no cycle repeats the last one (they agree by {max(alike, 0.0):.0%}): this is noise, "
                    f"or a load that was off.".replace("%", " %")
                )
                return 1.0
        if rough > _ROUGH:
            self.problems.append(
                f"{self.name}: mostly noise: {rough**2:.0%} of the current's energy lies above the fortieth harmonic; "
                f"was the load on, and the range small enough?".replace("%", " %")
            )
            return min(1.0, rough / 0.6)
        steps = np.unique(i).size
        if steps < 12:
            self.problems.append(
                f"{self.name}: the current takes only {steps} different values: the range was far too large for it."
            )
            return 0.5
        return 0.0

    # What it looks like ---------------------------------------------------------------------------------------------

    def _looks(self, cycle: _Cycle, period: float, doubt: float) -> tuple[tuple[Look, ...], Floats]:
        """Kinds with certainties, and the current with what the probe did to it undone (noted in `corrections`)."""
        current = cycle.current
        assert current is not None
        voltage = cycle.voltage
        if voltage is None:
            return self._looks_alone(current, period, doubt)
        if float(voltage @ current) < 0.0:
            features = features_of(voltage, -(current - current.mean()))
            if abs(features.follows) > 0.5 and doubt < 0.5:
                current = -current
                self.corrections.append("The current was turned round: the clamp was on the wrong way.")
        half = repair.half_wave(voltage, current, period) if doubt < 0.5 else None
        if half is not None:
            return self._half_wave(voltage, current, half, doubt)
        fixed = self._without_offset(current, blocked=False)
        plain = looks(features_of(voltage, current - current.mean()), doubt=doubt)
        ramp = self._ramp(current)
        if ramp is not None:
            level = repair.without_ramp(current)
            level = level - level.mean()
            better = looks(features_of(voltage, level), doubt=doubt)
            if _named(better) > _named(plain) + 0.1:
                self.corrections.append("A drift through the cycle was taken out.")
                return better, level
            self.problems.append(
                f"{self.name}: the current ends the cycle {ramp:.0%} of its swing away from where it began: it drifts "
                f"or was still settling.".replace("%", " %")
            )
        return plain, fixed

    def _looks_alone(self, current: Floats, period: float, doubt: float) -> tuple[tuple[Look, ...], Floats]:
        """As `_looks` for a current without its voltage, which is taken to be in step with it."""
        angle = phase_of(current)
        sine = np.sin(2.0 * math.pi * np.arange(current.size) / current.size)
        half = repair.half_wave(sine, turned(current, angle), period) if doubt < 0.5 else None
        if half is not None:
            return self._half_wave(sine, turned(current, angle), half, doubt)
        fixed = self._without_offset(current, blocked=False)
        return looks_without_voltage(fixed, doubt=doubt), fixed

    def _half_wave(
        self, voltage: Floats, current: Floats, half: repair.HalfWave, doubt: float
    ) -> tuple[tuple[Look, ...], Floats]:
        flows = half.current
        lost = abs(half.blocked_mean) > 0.03 * float(np.abs(flows).max())
        kinds = looks(features_of(voltage, flows), blocked=True, doubt=doubt)
        if not lost:
            return kinds, current
        how = (
            f"with a time constant of {1e3 * half.time_constant:.3g} ms"
            if math.isfinite(half.time_constant)
            else "with its mean alone lost"
        )
        self.corrections.append(
            f"An ac-coupled probe ({how}) blocked the mean of a half-wave current; it was put back so that nothing "
            f"flows in the blocked half."
        )
        if self.recording.coupling == "dc":
            self.problems.append(
                f"{self.name}: is written as dc-coupled, but its mean is missing: the blocked half of a half-wave load "
                f"stands at {half.blocked_mean:.3g} A."
            )
        else:
            self.problems.append(
                f"{self.name}: the probe is ac-coupled and the load takes one half-wave only: the figures as recorded "
                f"are without the mean (see corrected)."
            )
        return kinds, flows

    def _without_offset(self, current: Floats, *, blocked: bool) -> Floats:
        mean, size = float(current.mean()), float(np.sqrt((current**2).mean()))
        if blocked or size == 0.0 or abs(mean) <= _OFFSET * size:
            return current
        self.corrections.append(f"An offset of {mean:.3g} A was taken out.")
        if abs(mean) > 0.3 * size:
            self.problems.append(
                f"{self.name}: the mean of the current, {mean:.3g} A, is {abs(mean) / size:.0%} of its rms: an offset "
                f"of the probe, or a load that takes direct current.".replace("%", " %")
            )
        return current - mean

    def _ramp(self, current: Floats) -> float | None:
        swing = float(np.ptp(current))
        share = abs(repair.seam(current)) / swing if swing > 0.0 else 0.0
        return share if share > _RAMP else None

    # The computed cycle under it ------------------------------------------------------------------------------------

    def _overlay(self, cycle: _Cycle, cut_out: Cut) -> Overlay | None:
        circuit = self.circuits.get(self.recording.state) or next(iter(self.circuits.values()), None)
        if circuit is None or circuit.supply.dc is not None or self.recording.at != "input":
            return None
        try:
            return overlay_of(circuit, cycle.voltage, cycle.current, cut_out.frequency)
        except CircuitError:
            return None


def _figures(voltage: Floats | None, current: Floats | None, cycles: int) -> dict[str, Any]:
    """The input figures; what needs the wave that is missing is None."""
    some = voltage if voltage is not None else current
    assert some is not None
    v = voltage if voltage is not None else np.zeros_like(some)
    i = current if current is not None else np.zeros_like(some)
    figures = input_figures_uniform(v, i, cycles)
    if voltage is None:
        figures |= dict.fromkeys(_VOLTS_PARTS)
    if current is None:
        figures |= {key: None for key in figures if key not in ("voltage_rms", "harmonics")} | {"harmonics": []}
    return figures


def _rough(wave: Floats, cycles: int) -> float:
    """Share of the ac rms that lies above order 40 [1]."""
    size = np.abs(np.fft.rfft(wave))
    size[0] = 0.0
    whole = float((size**2).sum())
    return math.sqrt(float((size[40 * cycles + 1 :] ** 2).sum()) / whole) if whole > 0.0 else 0.0


def _alike(every: Floats) -> float:
    """How well single cycles agree with the average of the others (mean correlation)."""
    centred = every - every.mean(axis=1, keepdims=True)
    total = centred.sum(axis=0)
    found = []
    for one in centred:
        rest = total - one
        size = math.sqrt(float(one @ one) * float(rest @ rest))
        found.append(float(one @ rest) / size if size > 0.0 else 0.0)
    return float(np.mean(found))


def _longest_run(flags: np.ndarray) -> int:
    longest = run = 0
    for flag in flags:
        run = run + 1 if flag else 0
        longest = max(longest, run)
    return longest


def _named(kinds: tuple[Look, ...]) -> float:
    """Certainty of the best kind that has a name."""
    return max((look.certainty for look in kinds if look.kind != "other"), default=0.0)


def _strongest(wave: Floats, step: float) -> float | None:
    """The frequency that carries most of a wave [Hz]."""
    spectrum = np.abs(np.fft.rfft(wave - wave.mean()))
    return float(spectrum.argmax() / (wave.size * step)) if spectrum.max() > 0.0 else None
