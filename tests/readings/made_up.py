"""Made-up circuits with simulated meters, in closed form, for the coverage of inferred intervals.

A supply of V volts drives a string of threshold voltage through a resistor, in two states with another resistor added;
the meters read currents, powers and voltages of it, each wrong by a share that is equally likely anywhere within its
accuracy. Tolerances and the mains are likewise equally likely within theirs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lidoff.readings.accuracy import MeterError
from lidoff.readings.crowd import Crowd
from lidoff.readings.inputs import Input
from lidoff.readings.likelihood import Evidence
from lidoff.readings.posterior import Posterior
from lidoff.readings.search import Search

Floats = np.ndarray


@dataclass(frozen=True)
class MadeUp:
    """One item: its inputs, the function from coordinates (points, inputs) to readings, the truth, the errors."""

    inputs: tuple[Input, ...]
    unknowns: int
    function: Callable[[Floats], Floats]
    truth: Floats
    errors: tuple[MeterError, ...]

    def posterior(self) -> Posterior:
        slack = np.array([1e-6 * abs(error.measured) for error in self.errors])
        way = Search if self.unknowns <= 2 else Crowd
        return way(
            lambda z: self.function(z[None, :])[0], self.inputs, self.unknowns, Evidence(self.errors, slack)
        ).run()


def readings_of(inputs: tuple[Input, ...], unknowns: int, chosen: Floats) -> Callable[[Floats], Floats]:
    def function(z: Floats) -> Floats:
        values = [np.asarray(one.at(z[:, k]), dtype=float) for k, one in enumerate(inputs)]
        ohms = values[0]
        threshold = values[1] if unknowns > 1 else np.full(z.shape[0], 150.0)
        more = [*values[unknowns:], np.zeros(z.shape[0]), np.zeros(z.shape[0])]
        volts, ohms = 230.0 * (1.0 + more[0]), ohms * (1.0 + more[1])
        first, second = (volts - threshold) / (ohms + 300.0), (0.95 * volts - threshold) / (ohms + 800.0)
        rows = [first, volts * first, first**2 * ohms, second, threshold, volts * second, ohms / (ohms + 1e3)]
        return np.stack(rows, axis=1)[:, chosen]

    return function


def made_up(random: np.random.Generator, unknowns: int) -> MadeUp:
    """A random item of one or two unknowns, none to two tolerances, and as many readings as unknowns or up to six."""
    inputs = [
        Input(name="R1.value", state=None, origin="unknown", low=150.0, high=2000.0, unit="ohm", logarithmic=True),
        Input(name="DZ1.voltage", state=None, origin="unknown", low=100.0, high=190.0, unit="V"),
    ][:unknowns]
    for k in range(int(random.integers(0, 3))):
        share = (0.02, 0.05)[k]
        inputs.append(Input(name=f"R{k + 5}.value", state=None, origin="tolerance", low=-share, high=share))
    chosen = random.choice(7, int(random.integers(unknowns, 7)), replace=False)
    function = readings_of(tuple(inputs), unknowns, chosen)
    truth = random.uniform(-1.0, 1.0, len(inputs))
    true = function(truth[None, :])[0]
    accuracy = random.choice([0.005, 0.01, 0.03], chosen.size)
    # The accuracy is a share of what is shown, as the program takes it.
    shown = true / (1.0 + accuracy * random.uniform(-1.0, 1.0, chosen.size))
    return MadeUp(tuple(inputs), unknowns, function, truth, _errors(shown, accuracy))


def _errors(shown: Floats, accuracy: Floats) -> tuple[MeterError, ...]:
    return tuple(
        MeterError(measured=float(value), half_width=float(share * abs(value)))
        for value, share in zip(shown, accuracy, strict=True)
    )


def made_up_of_more(random: np.random.Generator, unknowns: int) -> MadeUp:
    """A random item of three or four unknowns: the string with a resistor, perhaps a capacitor, across the mains."""
    inputs = [
        Input(name="R1.value", state=None, origin="unknown", low=150.0, high=2000.0, unit="ohm", logarithmic=True),
        Input(name="DZ1.voltage", state=None, origin="unknown", low=100.0, high=190.0, unit="V"),
        Input(name="R9.value", state=None, origin="unknown", low=5e3, high=5e5, unit="ohm", logarithmic=True),
        Input(name="C1.value", state=None, origin="unknown", low=1e-7, high=2e-6, unit="F", logarithmic=True),
    ][:unknowns]
    for k in range(int(random.integers(0, 3))):
        share = (0.02, 0.05)[k]
        inputs.append(Input(name=f"R{k + 5}.value", state=None, origin="tolerance", low=-share, high=share))
    chosen = random.choice(11, int(random.integers(unknowns, 9)), replace=False)

    def function(z: Floats) -> Floats:
        values = [np.asarray(one.at(z[:, k]), dtype=float) for k, one in enumerate(inputs)]
        more = [*values[unknowns:], np.zeros(z.shape[0]), np.zeros(z.shape[0])]
        volts, ohms = 230.0 * (1.0 + more[0]), values[0] * (1.0 + more[1])
        threshold, across = values[1], values[2]
        reactance = 1.0 / (2.0 * np.pi * 50.0 * (values[3] if unknowns > 3 else np.full(z.shape[0], 5e-7)))
        first, second = (volts - threshold) / (ohms + 300.0), (0.95 * volts - threshold) / (ohms + 800.0)
        direct, ahead = first + volts / across, volts / reactance
        rows = [first, volts * direct, first**2 * ohms, second, threshold]
        rows += [volts * second + (0.95 * volts) ** 2 / across, volts / across, direct]
        rows += [np.hypot(direct, ahead), volts * ahead, ohms * across / (ohms + across)]
        return np.stack(rows, axis=1)[:, chosen]

    truth = random.uniform(-1.0, 1.0, len(inputs))
    accuracy = random.choice([0.005, 0.01, 0.03], chosen.size)
    shown = function(truth[None, :])[0] / (1.0 + accuracy * random.uniform(-1.0, 1.0, chosen.size))
    return MadeUp(tuple(inputs), unknowns, function, truth, _errors(shown, accuracy))


def exact_width(item: MadeUp, share: float = 0.95, draws: int = 40_000) -> Floats | None:
    """Width of the central interval of each unknown [coordinates] in the exact posterior.

    By brute force: draws from the uniform prior of all inputs, those kept that every meter's limits allow. The box
    drawn from is closed in on them by way of wider limits, with room to spare. None where too few are kept even then.
    """
    random = np.random.default_rng(11)
    count = len(item.inputs)
    measured = np.array([error.measured for error in item.errors])
    half = np.array([error.half_width for error in item.errors])
    low, high = np.full(count, -1.0), np.full(count, 1.0)
    for wider in (64.0, 32.0, 16.0, 8.0, 4.0, 2.0, 1.0, 1.0, 1.0):
        z = random.uniform(low, high, (draws, count))
        kept = z[(np.abs(item.function(z) - measured) <= wider * half).all(axis=1)]
        if kept.shape[0] < 12:
            return None
        if wider == 1.0 and kept.shape[0] > 1500:
            break
        room = 0.3 * np.ptp(kept, axis=0)
        low, high = np.maximum(kept.min(axis=0) - room, -1.0), np.minimum(kept.max(axis=0) + room, 1.0)
    else:
        return None
    low, high = np.quantile(kept[:, : item.unknowns], (0.5 - share / 2.0, 0.5 + share / 2.0), axis=0)
    return np.asarray(high - low)
