"""Measuring: standby power after IEC 62301, uncertainty after the GUM, what hand meters show."""

from __future__ import annotations

import math
from typing import Final

from lidoff.standards.rows import Source, Table

_S: Final = Source(
    table="standby-measurement",
    document="IEC 62301",
    edition="2005",
    clause="4",
    unit="1",
    seen="verified",
    witness="copy",
    note="as summarised by a national energy agency",
)
STANDBY: Final = Table(
    id="standby-measurement",
    title="Measuring standby power: supply, ambient, uncertainty, resolution",
    keys=("what",),
    rows=(
        _S.row("ambient", value=23.0, unit="degC"),
        _S.row("ambient, plus or minus", value=5.0, unit="K"),
        _S.row("still air up to", value=0.5, unit="m/s"),
        _S.row("supply harmonics to the 13th", value=2.0, unit="%"),
        _S.row("supply crest factor, least", value=1.34),
        _S.row("supply crest factor, most", value=1.49),
        _S.row("supply voltage, plus or minus", value=1.0, unit="%"),
        _S.row("uncertainty from 0.5 W", value=2.0, unit="%"),
        _S.row("uncertainty below 0.5 W", value=0.01, unit="W"),
        _S.row("uncertainty below 1 W, second edition", value=0.02, unit="W", edition="2011", seen="memory"),
        _S.row("resolution below 10 W", value=0.01, unit="W"),
        _S.row("resolution 10 W to 100 W", value=0.1, unit="W"),
        _S.row("resolution above 100 W", value=1.0, unit="W"),
        _S.row("stable within", value=5.0, unit="%"),
        _S.row("stable over", value=300.0, unit="s"),
    ),
)

_G: Final = Source(
    table="uncertainty", document="JCGM 100", edition="2008", clause="4.3, Annex G", unit="1", seen="memory"
)
UNCERTAINTY: Final = Table(
    id="uncertainty",
    title="Uncertainty: divisors of limits, coverage factors",
    keys=("what",),
    rows=(
        _G.row("rectangular limit divided by", value=math.sqrt(3.0)),
        _G.row("triangular limit divided by", value=math.sqrt(6.0)),
        _G.row("U-shaped limit divided by", value=math.sqrt(2.0)),
        _G.row("digital step times", value=0.29),
        _G.row("coverage factor for about 95 %", value=2.0, seen="verified", witness="web"),
        *(
            _G.row(f"t 95 %, {dof} degrees of freedom", value=t, clause="Table G.2")
            for dof, t in (
                ("1", 12.71),
                ("2", 4.30),
                ("3", 3.18),
                ("4", 2.78),
                ("5", 2.57),
                ("10", 2.23),
                ("inf", 1.96),
            )
        ),
    ),
)

_F: Final = Source(
    table="meter-response",
    document="Meter manuals",
    edition="various",
    clause="form-factor table",
    unit="V",
    seen="verified",
    witness="copy",
)
METERS: Final = Table(
    id="meter-response",
    title="What an average-responding meter shows, and the true value",
    keys=("wave", "reading"),
    rows=(
        _F.row("sine", "form factor", value=1.11, unit="1"),
        _F.row("square, 2 V peak to peak", "average-responding", value=1.111),
        _F.row("square, 2 V peak to peak", "true", value=1.000),
        _F.row("triangle", "ratio", value=0.960, unit="1"),
        _F.row("full-wave rectified sine, ac-coupled", "average-responding", value=0.421),
        _F.row("full-wave rectified sine, ac-coupled", "true", value=0.435),
        _F.row(
            "half-wave rectified sine, ac-coupled",
            "average-responding",
            value=0.764,
            note="as printed; the closed form gives 0.779",
        ),
        _F.row("half-wave rectified sine, ac-coupled", "true", value=0.771),
        _F.row("any", "crest factor a hand meter takes", value=3.0, unit="1"),
    ),
)

_I: Final = Source(
    table="reference-impedance",
    document="IEC 60725",
    edition="2012",
    clause="reference impedance",
    unit="ohm",
    seen="memory",
    note="line plus neutral, 230 V 50 Hz",
)
IMPEDANCE: Final = Table(
    id="reference-impedance",
    title="Reference impedance of the public supply",
    keys=("part",),
    rows=(
        _I.row("resistance", value=0.4),
        _I.row("reactance", value=0.25),
    ),
)

TABLES: Final = (STANDBY, UNCERTAINTY, METERS, IMPEDANCE)
