"""Tables of discs: varistor voltages with the mains they stand, and inrush thermistors."""

from __future__ import annotations

from typing import Final, NamedTuple

from lidoff.markings.sources import NTC_DISC, VARISTOR_AC, VARISTOR_AC_RECALLED, Source


class VaristorRow(NamedTuple):
    """Varistor voltage at 1 mA, and the largest continuous voltages, rms and dc [V]."""

    voltage: float
    ac: float
    dc: float
    source: Source


class ThermistorRow(NamedTuple):
    """An inrush thermistor: cold resistance [ohm], disc [mm], largest steady current [A], resistance at it [ohm]."""

    cold: float
    disc: int
    current: float
    hot: float
    source: Source


VARISTORS: Final = (
    *(
        VaristorRow(voltage=voltage, ac=ac, dc=dc, source=VARISTOR_AC)
        for voltage, ac, dc in (
            (18.0, 11.0, 14.0),
            (22.0, 14.0, 18.0),
            (27.0, 17.0, 22.0),
            (33.0, 20.0, 26.0),
            (39.0, 25.0, 31.0),
            (47.0, 30.0, 38.0),
            (56.0, 35.0, 45.0),
            (68.0, 40.0, 56.0),
        )
    ),
    *(
        VaristorRow(voltage=voltage, ac=ac, dc=dc, source=VARISTOR_AC_RECALLED)
        for voltage, ac, dc in (
            (82.0, 50.0, 65.0),
            (100.0, 60.0, 85.0),
            (120.0, 75.0, 100.0),
            (150.0, 95.0, 125.0),
            (180.0, 115.0, 150.0),
            (200.0, 130.0, 170.0),
            (220.0, 140.0, 180.0),
            (240.0, 150.0, 200.0),
            (270.0, 175.0, 225.0),
            (300.0, 190.0, 250.0),
            (330.0, 210.0, 275.0),
            (360.0, 230.0, 300.0),
            (390.0, 250.0, 320.0),
            (430.0, 275.0, 350.0),
            (470.0, 300.0, 385.0),
            (510.0, 320.0, 415.0),
            (560.0, 350.0, 460.0),
            (620.0, 385.0, 505.0),
            (680.0, 420.0, 560.0),
            (750.0, 460.0, 615.0),
            (780.0, 485.0, 640.0),
            (820.0, 510.0, 670.0),
            (910.0, 550.0, 745.0),
            (1000.0, 625.0, 825.0),
            (1100.0, 680.0, 895.0),
        )
    ),
)

THERMISTORS: Final = tuple(
    ThermistorRow(cold=cold, disc=disc, current=current, hot=hot, source=NTC_DISC)
    for disc, cold, current, hot in (
        (5, 5.0, 1.0, 0.353),
        (5, 10.0, 0.7, 0.771),
        (5, 15.0, 0.6, 0.9),
        (5, 22.0, 0.6, 0.9),
        (5, 33.0, 0.5, 1.2),
        (5, 47.0, 0.4, 1.5),
        (7, 5.0, 2.0, 0.28),
        (7, 8.0, 1.0, 0.54),
        (7, 10.0, 1.0, 0.62),
        (7, 12.0, 1.0, 0.82),
        (7, 16.0, 0.7, 1.0),
        (7, 22.0, 0.6, 1.11),
        (7, 33.0, 0.5, 1.49),
        (9, 3.0, 4.0, 0.12),
        (9, 4.0, 3.0, 0.19),
        (9, 5.0, 3.0, 0.21),
        (9, 6.0, 2.0, 0.315),
        (9, 8.0, 2.0, 0.4),
        (9, 10.0, 2.0, 0.458),
        (9, 12.0, 1.0, 0.652),
        (9, 16.0, 1.0, 0.802),
        (9, 20.0, 1.0, 0.864),
        (9, 22.0, 1.0, 0.95),
        (9, 30.0, 1.0, 1.022),
        (9, 33.0, 1.0, 1.124),
        (9, 50.0, 1.0, 1.252),
        (11, 2.5, 5.0, 0.095),
        (11, 3.0, 5.0, 0.1),
        (11, 4.0, 4.0, 0.15),
        (11, 5.0, 4.0, 0.156),
        (11, 6.0, 3.0, 0.24),
        (11, 8.0, 3.0, 0.255),
        (11, 10.0, 3.0, 0.275),
        (11, 12.0, 2.0, 0.462),
        (11, 16.0, 2.0, 0.47),
        (11, 20.0, 2.0, 0.512),
    )
)

DISC_SIZES: Final = (5, 7, 8, 9, 10, 11, 13, 14, 15, 18, 20, 25, 32, 40)


def varistor_row(voltage: float) -> VaristorRow | None:
    """The row of that varistor voltage at 1 mA [V], or None."""
    return next((row for row in VARISTORS if abs(row.voltage - voltage) < 1e-6 * voltage), None)


def varistor_for_ac(ac: float) -> VaristorRow | None:
    """The row of that continuous voltage [V rms], or None."""
    return next((row for row in VARISTORS if row.ac == ac), None)


def thermistor_row(cold: float, disc: int) -> ThermistorRow | None:
    """The row of that cold resistance [ohm] and disc [mm], or None."""
    return next((row for row in THERMISTORS if row.cold == cold and row.disc == disc), None)
