"""Circuits of the trade to draw, in a short hand of their own: a line a part, `ref kind key=value … node node …`.

Nodes stand in the order of the kind's pins, "-" for a pin that is left out. `block=name*12` makes a part a member of a
folded block. The topologies are common practice; the values are invented.
"""

from __future__ import annotations

from lidoff.circuit import Circuit, Element, Mains
from lidoff.kinds import KINDS, REQUIRED
from lidoff.quantity import parse

# What a key that must be given is taken to be where a line does not say.
_STAND_IN = {
    ("resistor", "value"): 1000.0,
    ("capacitor", "value"): 1e-7,
    ("inductor", "value"): 1e-3,
    ("potentiometer", "value"): 470e3,
    ("led", "forward_voltage"): 3.0,
    ("zener", "voltage"): 12.0,
    ("varistor", "voltage"): 430.0,
    ("regulator", "limit"): 0.025,
    ("converter", "power"): 6.0,
    ("thermistor", "cold"): 10.0,
    ("lamp", "power"): 40.0,
    ("lamp", "voltage"): 230.0,
    ("heater", "power"): 1500.0,
    ("heater", "voltage"): 230.0,
    ("transformer", "ratio"): 19.2,
    ("choke", "value"): 0.02,
    ("relay", "resistance"): 2000.0,
    ("motor", "resistance"): 50.0,
}


def element(line: str) -> Element:
    """The part that a line describes."""
    ref, kind, *words = line.split()
    known = KINDS[kind]
    values: dict[str, float | bool | str] = {}
    for key in known.keys:
        if (kind, key.name) in _STAND_IN:
            values[key.name] = _STAND_IN[kind, key.name]
        elif key.default is not None and key.default is not REQUIRED:
            values[key.name] = key.default
    block, series, parallel = None, 1.0, 1.0
    nodes: list[str | None] = []
    for word in words:
        key_name, equals, text = word.partition("=")
        if not equals:
            nodes.append(None if word == "-" else word)
        elif key_name == "block":
            block, _, count = text.partition("*")
            rows = count.split("*")
            series, parallel = float(rows[0]), float(rows[1]) if len(rows) > 1 else 1.0
        else:
            found = known.key(key_name)
            assert found is not None, line
            if found.unit == "bool":
                values[key_name] = text == "true"
            elif found.unit == "word":
                values[key_name] = text
            else:
                values[key_name] = parse(text, found.unit)
    assert len(nodes) == len(known.pins), line
    if block is not None:
        ref = f"{block}/{ref}"
    return Element(ref=ref, kind=kind, nodes=tuple(nodes), values=values, series=series, parallel=parallel, block=block)


def circuit(text: str, *, title: str = "", supply: Mains | None = None) -> Circuit:
    """The circuit that lines describe."""
    lines = [line.strip() for line in text.strip().splitlines() if line.strip()]
    return Circuit(elements=tuple(element(line) for line in lines), supply=supply or Mains(), title=title)


TRADE: dict[str, str] = {
    "half-wave heater": """
        S1 switch live a
        D1 diode a b
        EH1 heater power=800 b neutral
    """,
    "heater two levels": """
        F1 fuse rating=10 live a
        TH1 thermostat a b
        S1 switch b c
        D1 diode b c
        EH1 heater power=1000 c neutral
        S2 switch closed=false b d
        EH2 heater power=500 d neutral
        NE1 indicator c e
        R1 resistor value=150k e neutral
    """,
    "two lamps": """
        F1 fuse rating=2 speed=quick live a
        S1 switch a b
        LA1 lamp power=60 b neutral
        S2 switch a c
        LA2 lamp power=40 c neutral
    """,
    "lamp with neon": """
        S1 switch live a
        LA1 lamp power=60 a neutral
        R1 resistor value=220k live n
        NE1 indicator n a
    """,
    "dropper with protection": """
        F1 fuse rating=0.5 speed=slow live f
        RV1 varistor f neutral
        R1 resistor value=100R f a
        C1 capacitor value=470n a b
        R2 resistor value=470k a b
        BR1 bridge b neutral p m
        C2 capacitor value=10u p m
        R3 resistor value=100k p m
        R4 resistor value=220R p q
        LED1 led series=24 q m
    """,
    "dropper half wave zener": """
        R1 resistor value=100R live a
        C1 capacitor value=330n a b
        R2 resistor value=1M a b
        DZ1 zener voltage=12 neutral b
        D1 diode b p
        C2 capacitor value=220u p neutral
        U1 converter power=1 p neutral
    """,
    "in-line dimmer and strip": """
        F1 fuse rating=1 live f
        VR1 potentiometer value=470k load w -
        R1 resistor value=8k2 w t
        C1 capacitor value=68n t f
        D1 diac t g
        Q1 triac f load g
        R2 resistor value=100R load s
        C2 capacitor value=47n s f
        BR1 bridge load neutral p m
        LED1 led series=36 p x
        R3 resistor value=1k x m
    """,
    "dimmer two time constants": """
        L1 inductor value=100u live a
        C3 capacitor value=100n live neutral
        VR1 potentiometer value=500k load w w
        R1 resistor value=15k w t1
        C1 capacitor value=47n t1 a
        R2 resistor value=15k t1 t2
        C2 capacitor value=22n t2 a
        D1 diac t2 g
        Q1 triac a load g
        LA1 lamp power=100 load neutral
    """,
    "trailing filter dimmer": """
        F1 fuse rating=2 live f
        L1 inductor value=1.5m f a
        C3 capacitor value=100n f load
        VR1 potentiometer value=250k load w -
        R1 resistor value=2k2 w t
        C1 capacitor value=100n t a
        D1 diac t g
        Q1 triac a load g
        R2 resistor value=68R load s
        C2 capacitor value=47n s a
        LA1 lamp power=60 load neutral
    """,
    "thyristor after rectifier": """
        BR1 bridge live load p m
        Q1 thyristor p m g
        R1 resistor value=100k p w
        VR1 potentiometer value=1M w t -
        C1 capacitor value=1u t m
        R2 resistor value=10k t g
        LA1 lamp power=60 load neutral
    """,
    "valley fill": """
        F1 fuse rating=0.5 live a
        BR1 bridge a neutral p m
        C1 capacitor value=22u p x
        D1 diode m x
        D2 diode x y
        D3 diode y p
        C2 capacitor value=22u y m
        LED1 led series=80 p k
        U1 regulator limit=30m k m
    """,
    "voltage doubler": """
        R1 resistor value=4R7 live a
        D1 diode a p
        D2 diode m a
        C1 capacitor value=22u p neutral
        C2 capacitor value=22u neutral m
        R2 resistor value=470k p m
        U1 converter power=9 p m
    """,
    "four diodes": """
        R1 resistor value=10R live a
        D1 diode a p
        D2 diode m a
        D3 diode neutral p
        D4 diode m neutral
        C1 capacitor value=10u p m
        LED1 led series=60 p x
        R2 resistor value=100R x m
    """,
    "mains filter": """
        F1 fuse rating=3 live a
        RV1 varistor a neutral
        C1 capacitor value=100n a neutral
        R1 resistor value=1M a neutral
        L1 choke value=20m a b neutral n2
        C2 capacitor value=47n b n2
        BR1 bridge b n2 p m
        C3 capacitor value=47u p m
        U1 converter power=30 p m
    """,
    "filter with earth": """
        F1 fuse rating=3 live a
        C1 capacitor value=100n a neutral
        L1 choke value=20m a b neutral n2
        C2 capacitor value=2n2 b earth
        C3 capacitor value=2n2 n2 earth
        RT1 thermistor cold=10R b c
        BR1 bridge c n2 p m
        C4 capacitor value=100u p m
        U1 converter power=45 p m
    """,
    "regulator strip": """
        BR1 bridge live neutral p m
        LED1 led series=70 p c
        Q1 transistor b c e
        R2 resistor value=33R e m
        R1 resistor value=470k p b
        DZ1 zener voltage=5.6 m b
    """,
    "two transistor regulator": """
        BR1 bridge live neutral p m
        C1 capacitor value=4u7 p m
        LED1 led series=70 p c
        Q1 transistor b c e
        R2 resistor value=22R e m
        R1 resistor value=330k p b
        Q2 transistor e b m
    """,
    "mosfet strip": """
        BR1 bridge live neutral p m
        LED1 led series=80 p d
        Q1 mosfet g d s
        R2 resistor value=47R s m
        R1 resistor value=1M p g
        DZ1 zener voltage=9.1 m g
    """,
    "transformer supply": """
        F1 fuse rating=0.2 speed=slow live a
        T1 transformer ratio=19.2 a neutral s1 s2
        BR1 bridge s1 s2 p m
        C1 capacitor value=1000u p m
        U1 regulator limit=0.5 p o
        C2 capacitor value=100n o m
        LA1 lamp power=5 voltage=12 o m
    """,
    "transformer half wave": """
        S1 switch live a
        T1 transformer ratio=10 a neutral s1 s2
        D1 diode s1 p
        C1 capacitor value=470u p s2
        R1 resistor value=100R p q
        LED1 led series=3 q s2
    """,
    "LC smoothing": """
        BR1 bridge live neutral p m
        C1 capacitor value=10u p m
        L1 inductor value=10m p q
        C2 capacitor value=10u q m
        R1 resistor value=1R q r
        C3 capacitor value=1u r m
        LED1 led series=90 r x
        U1 regulator limit=20m x m
    """,
    "folded sections": """
        F1 fuse rating=1 live a
        BR1 bridge a neutral p m
        R1 resistor value=22R block=section*12 p section/k
        LED1 led series=3 block=section*12 section/k m
    """,
    "folded with bypass": """
        BR1 bridge live neutral p m
        U1 regulator limit=20m p q
        LED1 led forward_voltage=3 block=group*36*2 q m
        C1 capacitor value=1u block=group*36*2 q m
    """,
    "two strings one bridge": """
        R1 resistor value=10R live a
        BR1 bridge a neutral p m
        C1 capacitor value=4u7 p m
        LED1 led series=40 p x
        R2 resistor value=1k x m
        LED2 led series=40 p y
        R3 resistor value=1k y m
    """,
    "two bridges": """
        F1 fuse rating=1 live a
        R1 resistor value=47R a b
        BR1 bridge b neutral p1 m1
        LED1 led series=60 p1 x1
        U1 regulator limit=15m x1 m1
        C1 capacitor value=330n a c
        R2 resistor value=1M a c
        BR2 bridge c neutral p2 m2
        C2 capacitor value=10u p2 m2
        LED2 led series=20 p2 m2
    """,
    "motor speed": """
        S1 switch live a
        M1 motor a b
        Q1 triac neutral b g
        VR1 potentiometer value=220k b w -
        R1 resistor value=3k3 w t
        C1 capacitor value=100n t neutral
        D1 diac t g
        R2 resistor value=39R b s
        C2 capacitor value=100n s neutral
    """,
    "relay timer": """
        C1 capacitor value=680n live a
        R1 resistor value=470k live a
        BR1 bridge a neutral p m
        DZ1 zener voltage=24 m p
        C2 capacitor value=100u p m
        R2 resistor value=100k p t
        C3 capacitor value=10u t m
        K1 relay p c
        D1 diode c p
        Q1 transistor b c m
        R3 resistor value=47k t b
    """,
    "glow snubber": """
        S1 switch closed=false live a
        R1 resistor value=100R live s
        C1 capacitor value=100n s a
        LED1 led series=30 a k
        D1 diode k neutral
        D2 diode neutral a
    """,
    "antiparallel strings": """
        R1 resistor value=2k2 live a
        C1 capacitor value=220n a b
        LED1 led series=25 b neutral
        LED2 led series=25 neutral b
    """,
    "phase control with gate resistor": """
        LA1 lamp power=200 live load
        Q1 triac neutral load g
        R4 resistor value=1k g neutral
        VR1 potentiometer value=470k load w -
        R1 resistor value=4k7 w t
        C1 capacitor value=100n t neutral
        D1 diac t g
        R3 resistor value=100k load u
        C3 capacitor value=47n u neutral
        R5 resistor value=1M u t
    """,
    "charger front end": """
        F1 fuse rating=1 speed=slow live f
        RT1 thermistor cold=5R f a
        RV1 varistor a neutral
        C1 capacitor value=100n a neutral
        R1 resistor value=1M a neutral
        L1 choke value=10m a b neutral c
        D1 diode b p
        D2 diode m b
        D3 diode c p
        D4 diode m c
        C2 capacitor value=4u7 p m
        L2 inductor value=1m p q
        C3 capacitor value=4u7 q m
        R2 resistor value=1M q s
        R3 resistor value=1M s m
        U1 converter power=10 q m
    """,
    "star and delta": """
        R1 resistor live a
        R2 resistor live b
        R3 resistor live c
        R4 resistor a b
        R5 resistor b c
        R6 resistor a neutral
        R7 resistor b neutral
        R8 resistor c neutral
    """,
    "potential divider": """
        VR1 potentiometer value=100k live w neutral
        R1 resistor value=10k w a
        C1 capacitor value=10n a neutral
        R2 resistor value=1M a b
        NE1 indicator b neutral
    """,
}


def _forty() -> str:
    """Forty parts: a filter, a bridge and six strings with a regulator and a bypass each."""
    lines = [
        "F1 fuse rating=2 live f",
        "RV1 varistor f neutral",
        "C1 capacitor f neutral",
        "L1 choke f b neutral n2",
        "C2 capacitor b n2",
        "RT1 thermistor b c",
        "BR1 bridge c n2 p m",
        "C3 capacitor value=10u p m",
        "R1 resistor value=470k p m",
        "L2 inductor p q",
        "C4 capacitor value=10u q m",
    ]
    for k in range(1, 7):
        lines += [
            f"LED{k} led series=60 q d{k}",
            f"Q{k} transistor b{k} d{k} e{k}",
            f"R{k}1 resistor e{k} m",
            f"R{k}2 resistor q b{k}",
            f"DZ{k} zener m b{k}",
        ]
    return "\n".join(lines[:40])


TRADE["forty parts"] = _forty()

BENCH: dict[str, tuple[str, Mains]] = {
    "string on a bench supply": (
        "LED1 led series=60 p x\nR1 resistor value=1k x m\nC1 capacitor value=4u7 p m",
        Mains(dc=24.0, limit=0.005, nodes=("p", "m")),
    ),
}


def all_circuits() -> dict[str, Circuit]:
    """Every circuit by name."""
    found = {name: circuit(text, title=name) for name, text in TRADE.items()}
    found |= {name: circuit(text, title=name, supply=supply) for name, (text, supply) in BENCH.items()}
    return found
