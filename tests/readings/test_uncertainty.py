"""The arithmetic of uncertainty against the GUM's own example and an independent library."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from lidoff.readings.uncertainty import Estimates, from_observations, propagate, rectangular, response_of, spread_points


@pytest.fixture
def h2(reference: Path) -> np.ndarray:
    with (reference / "readings" / "gum_h2_observations.csv").open() as file:
        rows = list(csv.DictReader(file))
    names = ("voltage_V", "current_mA", "phase_rad")
    return np.array([[float(row[name]) for row in rows] for name in names]) * [[1.0], [1e-3], [1.0]]


@pytest.fixture
def published(reference: Path) -> dict[str, tuple[float, float]]:
    with (reference / "readings" / "gum_h2_results.csv").open() as file:
        return {row["quantity"]: (float(row["value"]), float(row["u"] or "nan")) for row in csv.DictReader(file)}


def impedance(x: np.ndarray) -> np.ndarray:
    size = x[0] / x[1]
    return np.array([size * math.cos(x[2]), size * math.sin(x[2]), size])


def test_gum_h2_means_and_correlations(h2: np.ndarray, published: dict[str, tuple[float, float]]) -> None:
    """JCGM 100:2008, Table H.2: means, standard uncertainties of the means, correlation coefficients."""
    found = from_observations(h2)
    for k, (name, scale) in enumerate((("voltage_V", 1.0), ("current_mA", 1e-3), ("phase_rad", 1.0))):
        value, u = published[name]
        assert found.values[k] == pytest.approx(value * scale, rel=1e-6)
        assert found.u[k] == pytest.approx(u * scale, rel=0.01)
    r = found.correlation
    assert r[0, 1] == pytest.approx(published["r(V;I)"][0], abs=0.01)
    assert r[0, 2] == pytest.approx(published["r(V;phi)"][0], abs=0.01)
    assert r[1, 2] == pytest.approx(published["r(I;phi)"][0], abs=0.01)


def test_gum_h2_results_keep_the_correlations(h2: np.ndarray, published: dict[str, tuple[float, float]]) -> None:
    """JCGM 100:2008, Table H.4: R, X, Z with their uncertainties and the correlations between them."""
    found = propagate(impedance, from_observations(h2))
    for k, name in enumerate(("resistance_ohm", "reactance_ohm", "impedance_ohm")):
        value, u = published[name]
        assert found.values[k] == pytest.approx(value, abs=6e-4)
        assert found.u[k] == pytest.approx(u, rel=0.005)
    r = found.correlation
    assert r[0, 1] == pytest.approx(published["r(R;X)"][0], abs=2e-3)
    assert r[0, 2] == pytest.approx(published["r(R;Z)"][0], abs=2e-3)
    assert r[1, 2] == pytest.approx(published["r(X;Z)"][0], abs=2e-3)


@pytest.mark.parametrize("keep", [True, False])
def test_gum_h2_as_the_uncertainties_library_has_it(h2: np.ndarray, keep: bool) -> None:
    """With and without the correlations the independent library (uncertainties, BSD) gives the same."""
    inputs = from_observations(h2)
    if not keep:
        inputs = inputs.without_correlation()
    found = propagate(impedance, inputs)
    v, i, phi = uncertainties.correlated_values(inputs.values.tolist(), inputs.covariance.tolist())
    expected = [v / i * umath.cos(phi), v / i * umath.sin(phi), v / i]
    for k, one in enumerate(expected):
        assert found.values[k] == pytest.approx(one.nominal_value, rel=1e-9)
        assert found.u[k] == pytest.approx(one.std_dev, rel=1e-4)


def test_dropping_the_correlations_shows(h2: np.ndarray) -> None:
    """Without its correlations the same example gives a visibly different uncertainty."""
    inputs = from_observations(h2)
    kept, dropped = propagate(impedance, inputs), propagate(impedance, inputs.without_correlation())
    assert (np.abs(kept.u / dropped.u - 1.0) > 0.1).any()


def test_limiting_errors(reference: Path) -> None:
    """Handbook examples of limiting errors: half-widths add where the limits do, u is that over the root of three."""
    with (reference / "readings" / "limiting_errors.csv").open() as file:
        rows = {row["what"]: row for row in csv.DictReader(file)}
    (_, product), (_, square), (_, difference) = rows.items()
    assert pytest.approx(float(product["relative_error"]), abs=5e-4) == 1.5 / 100.0 + 1.0 / 55.0
    assert pytest.approx(float(square["relative_error"])) == 0.10 + 2.0 * 0.5 / 10.0
    assert pytest.approx(float(difference["relative_error"])) == (1.0 + 4.0) / 20.0
    # As standard uncertainties of rectangular limits the same power is known better than its limits say.
    inputs = Estimates(np.array([100.0, 0.055]), np.diag([rectangular(1.5) ** 2, rectangular(0.001) ** 2]))
    found = propagate(lambda x: np.array([x[0] * x[1]]), inputs)
    assert math.sqrt(3.0) * found.u[0] / found.values[0] < float(product["relative_error"])


def test_response_of_a_parabola_is_exact() -> None:
    """Slopes, bends, and the moments of a parabola of a rectangular input (JCGM 101 by integration)."""
    response = response_of(lambda z: np.array([3.0 + 2.0 * z[0] + 0.5 * z[0] ** 2]), 1, np.array([3.0]))
    z = np.linspace(-1.0, 1.0, 200_001)
    f = 3.0 + 2.0 * z + 0.5 * z**2
    assert response.u[0] == pytest.approx(f.std(), rel=1e-4)
    low, high = response.interval()
    assert low[0] == pytest.approx(np.quantile(f, 0.025), abs=0.02)
    assert high[0] == pytest.approx(np.quantile(f, 0.975), abs=0.02)


def test_one_cause_moves_all_results_together() -> None:
    """Two results of one input are fully correlated, whatever their slopes."""
    response = response_of(lambda z: np.array([z[0], -2.0 * z[0], z[1]]), 2, np.zeros(3))
    covariance = response.covariance
    assert covariance[0, 1] == pytest.approx(-math.sqrt(covariance[0, 0] * covariance[1, 1]))
    assert covariance[0, 2] == 0.0


def test_points_fill_the_cube_evenly() -> None:
    """The sequence has each tenth of each side filled alike, and is the same every time."""
    points = spread_points(1000, 3)
    for side in points.T:
        counts = np.histogram(side, bins=10, range=(0.0, 1.0))[0]
        assert counts.min() >= 95
        assert counts.max() <= 105
    assert np.array_equal(points, spread_points(1000, 3))
