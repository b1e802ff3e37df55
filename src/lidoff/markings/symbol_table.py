"""Symbols and marks on rating plates, as words people use for them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.sources import (
    GRAPHICAL_SYMBOL,
    LUMINAIRE_SYMBOL,
    MARK_OF_CONFORMITY,
    PROTECTION_CLASS,
    Source,
)

_NONE: Final[Mapping[str, str]] = MappingProxyType({})


class Symbol(NamedTuple):
    """One symbol: its name, the words by which people describe it (lower case, hyphens as blanks), its meaning."""

    name: str
    words: frozenset[str]
    meaning: str
    source: Source
    more: Mapping[str, str] = _NONE


def _symbol(name: str, words: str, meaning: str, source: Source, **more: str) -> Symbol:
    return Symbol(
        name=name,
        words=frozenset(word.strip() for word in words.split(",")) | {name.lower()},
        meaning=meaning,
        source=source,
        more=MappingProxyType(more),
    )


SYMBOLS: Final = (
    _symbol(
        "protection class I",
        "class i, class 1, earth symbol, earth symbol in a circle, ground symbol, pe",
        "relies on a protective earth; metal that can be touched must be joined to it",
        PROTECTION_CLASS,
        **{"class": "I"},
    ),
    _symbol(
        "protection class II",
        "class ii, class 2, double square, square in square, square in a square, box in box, double insulated, "
        "double insulation, two squares",
        "double or reinforced insulation and no protective earth",
        PROTECTION_CLASS,
        **{"class": "II"},
    ),
    _symbol(
        "class 2 supply",
        "class 2, class 2 power unit, class 2 transformer",
        "North America: a supply whose output is limited so that it starts no fire (UL 1310); not protection class II",
        PROTECTION_CLASS,
        region="US",
    ),
    _symbol(
        "protection class III",
        "class iii, class 3, iii in diamond, diamond iii, iii in a diamond, diamond with iii",
        "for supply at extra-low voltage only (SELV)",
        PROTECTION_CLASS,
        **{"class": "III"},
    ),
    _symbol(
        "protection class II with functional earth",
        "class ii with functional earth, double square with earth",
        "class II, with an earth that is not for protection",
        PROTECTION_CLASS,
        **{"class": "II"},
    ),
    _symbol(
        "safety isolating transformer",
        "two overlapping circles in a shield, overlapping circles, short circuit proof safety isolating transformer",
        "its output is kept from the mains as SELV demands (IEC 61558-2-6)",
        GRAPHICAL_SYMBOL,
    ),
    _symbol("SELV", "selv equivalent", "safety extra-low voltage, kept from the mains", PROTECTION_CLASS),
    _symbol("indoor use only", "house, house symbol, for indoor use only", "not for outdoors", GRAPHICAL_SYMBOL),
    _symbol(
        "dangerous voltage",
        "lightning, flash, flash in triangle, lightning in triangle",
        "dangerous voltage inside",
        GRAPHICAL_SYMBOL,
    ),
    _symbol("caution", "exclamation mark in triangle, warning triangle", "read the instructions", GRAPHICAL_SYMBOL),
    _symbol("alternating current", "sine, tilde, ac symbol", "alternating current", GRAPHICAL_SYMBOL),
    _symbol("direct current", "line over dashes, dc symbol", "direct current", GRAPHICAL_SYMBOL),
    _symbol(
        "centre positive",
        "center positive, tip positive, centre plus",
        "the inner contact of the plug is plus",
        GRAPHICAL_SYMBOL,
        polarity="centre positive",
    ),
    _symbol(
        "centre negative",
        "center negative, tip negative, centre minus",
        "the inner contact of the plug is minus",
        GRAPHICAL_SYMBOL,
        polarity="centre negative",
    ),
    _symbol(
        "do not cover",
        "covering crossed out, cloth crossed out",
        "a heater that overheats when covered",
        GRAPHICAL_SYMBOL,
    ),
    _symbol("fuse", "fuse symbol", "a fuse, with its rating beside", GRAPHICAL_SYMBOL),
    _symbol("protective earth terminal", "earth terminal", "terminal for the protective earth", GRAPHICAL_SYMBOL),
    _symbol(
        "F in triangle",
        "f mark, f in a triangle, triangle f",
        "luminaire that may stand on normally flammable surfaces (older marking; since 2008 the exception is marked)",
        LUMINAIRE_SYMBOL,
    ),
    _symbol(
        "M in triangle",
        "m mark, m in a triangle, triangle m",
        "luminaire for furniture, known or unknown materials",
        LUMINAIRE_SYMBOL,
    ),
    _symbol(
        "D in triangle",
        "d mark, d in a triangle, triangle d",
        "luminaire of limited surface temperature, for dusty rooms",
        LUMINAIRE_SYMBOL,
    ),
    _symbol(
        "not for normally flammable surfaces",
        "crossed out luminaire on flames, f in triangle crossed out",
        "luminaire only for surfaces that do not burn",
        LUMINAIRE_SYMBOL,
    ),
    _symbol("not dimmable", "dimmer crossed out", "not to be run on a dimmer", LUMINAIRE_SYMBOL),
    _symbol(
        "distance to lit objects",
        "lamp and wall with metres",
        "least distance to what is lit, in metres",
        LUMINAIRE_SYMBOL,
    ),
    _symbol(
        "CE mark",
        "ce",
        "the maker declares that EU rules are met; nobody need have tested it",
        MARK_OF_CONFORMITY,
        region="EU",
    ),
    _symbol(
        "UKCA mark", "ukca", "the maker declares that rules of Great Britain are met", MARK_OF_CONFORMITY, region="GB"
    ),
    _symbol(
        "crossed-out bin",
        "crossed out bin, weee bin, wheelie bin, weee",
        "not for household waste (2012/19/EU)",
        MARK_OF_CONFORMITY,
        region="EU",
    ),
    _symbol(
        "ENEC mark",
        "enec",
        "tested to European standards by the body whose number stands beside it",
        MARK_OF_CONFORMITY,
        region="EU",
    ),
    _symbol(
        "GS mark",
        "gs",
        "type tested under German product safety law by the body named",
        MARK_OF_CONFORMITY,
        region="DE",
    ),
    _symbol("VDE mark", "vde, vde in triangle", "tested by the body of that name", MARK_OF_CONFORMITY, region="DE"),
    _symbol(
        "BSI Kitemark", "kitemark", "tested and watched over by the body of that name", MARK_OF_CONFORMITY, region="GB"
    ),
    _symbol(
        "ASTA mark",
        "asta, asta diamond",
        "tested by the body of that name; usual on plugs and plug fuses",
        MARK_OF_CONFORMITY,
        region="GB",
    ),
    _symbol(
        "UL listed",
        "ul listing, ul in circle, ul",
        "listed after tests by the body of that name",
        MARK_OF_CONFORMITY,
        region="US",
    ),
    _symbol(
        "UL recognised component",
        "ru, backward ru, ul recognized component, reversed ru",
        "a component judged for use inside a product, not a product",
        MARK_OF_CONFORMITY,
        region="US",
    ),
    _symbol("ETL listed", "etl", "listed after tests by the body of that name", MARK_OF_CONFORMITY, region="US"),
    _symbol("CSA mark", "csa", "tested by the body of that name", MARK_OF_CONFORMITY, region="CA"),
    _symbol(
        "FCC mark",
        "fcc",
        "declared within the limits of radio disturbance; says nothing of shock or fire",
        MARK_OF_CONFORMITY,
        region="US",
    ),
    _symbol("CCC mark", "ccc, 3c", "compulsory certificate of China", MARK_OF_CONFORMITY, region="CN"),
    _symbol(
        "PSE in diamond",
        "pse diamond, diamond pse",
        "compulsory conformity check of Japan",
        MARK_OF_CONFORMITY,
        region="JP",
    ),
    _symbol(
        "PSE in circle",
        "pse circle, round pse",
        "maker's own declaration under Japanese law",
        MARK_OF_CONFORMITY,
        region="JP",
    ),
    _symbol(
        "RCM mark",
        "rcm, c tick",
        "registered as meeting rules of Australia and New Zealand",
        MARK_OF_CONFORMITY,
        region="AU",
    ),
    _symbol(
        "94V-0",
        "94v 0, 94v0, ul94v 0, ul 94v 0",
        "board or plastic that puts itself out at once (UL 94)",
        MARK_OF_CONFORMITY,
    ),
    _symbol("94HB", "94 hb, ul94hb", "plastic that burns slowly (UL 94); not self-extinguishing", MARK_OF_CONFORMITY),
    _symbol("VW-1", "vw 1, ft 1, ft1", "wire that does not carry a flame upwards", MARK_OF_CONFORMITY),
    _symbol(
        "RoHS mark",
        "rohs",
        "declared free of the restricted substances; says nothing of shock or fire",
        MARK_OF_CONFORMITY,
    ),
    _symbol(
        "efficiency level VI",
        "vi, roman six, level vi",
        "no-load and efficiency level VI of external supplies",
        MARK_OF_CONFORMITY,
    ),
)
