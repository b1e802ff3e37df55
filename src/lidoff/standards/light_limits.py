"""Limits and definitions for light that varies in time, and the EU's requirements on light sources."""

from __future__ import annotations

from typing import Final

from lidoff.standards.rows import Source, Table

_I: Final = Source(
    table="light-modulation",
    document="IEEE Std 1789",
    edition="2015",
    clause="8.1.1",
    unit="% per Hz",
    seen="verified",
    witness="copy",
)
MODULATION: Final = Table(
    id="light-modulation",
    title="Recommended practices for the modulation of light, in percent flicker per hertz",
    keys=("practice", "range"),
    rows=(
        _I.row("low risk", "below 90 Hz", value=0.025, clause="8.1.1.1"),
        _I.row("low risk", "90 Hz and above", value=0.08, clause="8.1.1.1"),
        _I.row("low risk", "no limit above", value=1250.0, unit="Hz", clause="8.1.1.1"),
        _I.row(
            "no effect",
            "below 90 Hz",
            value=0.01,
            clause="8.1.1.2",
            note="an open data file has 0.0333 here; the quoted text of the clause has 0.01",
        ),
        _I.row("no effect", "90 Hz and above", value=0.0333, clause="8.1.1.2"),
        _I.row("no effect", "no limit above", value=3000.0, unit="Hz", clause="8.1.1.2"),
        _I.row("seizure prevention", "below 90 Hz", value=5.0, unit="%", clause="8.1.1.3"),
        _I.row("border", "between the ranges", value=90.0, unit="Hz"),
    ),
)

_T: Final = Source(
    table="stroboscopic",
    document="IEC TR 63158",
    edition="2018+COR1:2018",
    clause="SVM definition",
    unit="1",
    seen="verified",
    witness="web",
)
STROBOSCOPIC: Final = Table(
    id="stroboscopic",
    title="Stroboscopic visibility measure: exponent, band and the two fits of the threshold",
    keys=("what",),
    rows=(
        _T.row("exponent", value=3.7),
        _T.row("highest", value=2000.0, unit="Hz"),
        _T.row("lowest", value=80.0, unit="Hz", seen="memory"),
        _T.row("visible at", value=1.0, note="average observer; over 100 lx, movement slower than 4 m/s"),
        _T.row("logistic slope", value=0.00518, unit="1/Hz", seen="memory"),
        _T.row("logistic centre", value=306.6, unit="Hz", seen="memory"),
        _T.row("low-frequency size", value=20.0, seen="memory"),
        _T.row("low-frequency fall", value=10.0, unit="Hz", seen="memory"),
        _T.row("power factor", value=2.865e-5, unit="1/Hz^1.543", document="Perz 2018", edition="2018", clause="fit"),
        _T.row("power exponent", value=1.543, document="Perz 2018", edition="2018", clause="fit"),
        _T.row("power floor", value=0.225, document="Perz 2018", edition="2018", clause="fit"),
    ),
)

_F: Final = Source(
    table="light-flickermeter",
    document="IEC TR 61547-1",
    edition="2017",
    clause="flickermeter blocks",
    unit="1",
    seen="verified",
    witness="copy",
    note="coefficients of the reference implementation by the method's authors",
)
FLICKERMETER: Final = Table(
    id="light-flickermeter",
    title="Light flickermeter: filters, scale and the weights of the percentiles",
    keys=("block", "term"),
    rows=(
        _F.row("high-pass", "corner", value=0.05, unit="Hz"),
        _F.row("low-pass", "order", value=6.0),
        _F.row("low-pass", "corner", value=35.0, unit="Hz"),
        *(
            _F.row("eye numerator", f"s^{4 - k}", value=v)
            for k, v in enumerate((0.041661, 44.758, 2715.6, 29839.0, 0.0))
        ),
        *(
            _F.row("eye denominator", f"s^{4 - k}", value=v)
            for k, v in enumerate((1.0, 196.32, 11781.0, 534820.0, 3505380.0))
        ),
        _F.row("smoothing", "time constant", value=0.3, unit="s"),
        _F.row("smoothing", "scale", value=1.101603155420234e6),
        _F.row("record", "skipped", value=20.0, unit="s"),
        _F.row("record", "least rate", value=2000.0, unit="Hz"),
        _F.row("record", "length", value=180.0, unit="s", seen="memory"),
        *(
            _F.row("weight", f"P{p}", value=v)
            for p, v in (("0.1", 0.0314), ("1s", 0.0525), ("3s", 0.0657), ("10s", 0.28), ("50s", 0.08))
        ),
    ),
)

PERCENTILES: Final = {
    "0.1": (0.1,),
    "1s": (0.7, 1.0, 1.5),
    "3s": (2.2, 3.0, 4.0),
    "10s": (6.0, 8.0, 10.0, 13.0, 17.0),
    "50s": (30.0, 50.0, 80.0),
}
"""The levels exceeded for these percentages of the time are averaged for each weighted percentile (IEC TR 61547-1)."""

_E: Final = Source(
    table="eu-light-sources",
    document="(EU) 2019/2020",
    edition="2019 as amended by (EU) 2021/341",
    clause="Annex II, Table 4",
    unit="1",
    seen="verified",
    witness="text",
)
EU_LIGHT_SOURCES: Final = Table(
    id="eu-light-sources",
    title="EU ecodesign requirements on mains light sources, at full load",
    keys=("quantity", "from"),
    rows=(
        _E.row("PstLM", "2021-09-01", value=1.0),
        _E.row("SVM", "2019 text", value=0.4, edition="2019", note="superseded before it applied"),
        _E.row("SVM", "2021-09-01", value=0.9),
        _E.row("SVM", "2024-09-01", value=0.4),
        _E.row("displacement factor", "over 5 W", value=0.5),
        _E.row("displacement factor", "over 10 W", value=0.7),
        _E.row("displacement factor", "over 25 W", value=0.9),
        _E.row("standby power", "2021-09-01", value=0.5, unit="W", clause="Annex II, 2"),
        _E.row("networked standby power", "2021-09-01", value=0.5, unit="W", clause="Annex II, 2"),
        _E.row("control gear no-load power", "2021-09-01", value=0.5, unit="W", clause="Annex II, 2"),
    ),
)

TABLES: Final = (MODULATION, STROBOSCOPIC, FLICKERMETER, EU_LIGHT_SOURCES)


def displacement_floor(power: float) -> float | None:
    """Least displacement factor [1] of an LED mains light source of `power` [W]; None up to 5 W ((EU) 2019/2020)."""
    for least, key in ((25.0, "over 25 W"), (10.0, "over 10 W"), (5.0, "over 5 W")):
        if power > least:
            return EU_LIGHT_SOURCES.number("displacement factor", key)
    return None


def least_gear_efficiency(power: float) -> float:
    """Least full-load efficiency [1] of LED control gear of output `power` [W] ((EU) 2019/2020, Annex II, Table 2)."""
    p = power**0.81
    return float(p / (1.09 * p + 2.10))
