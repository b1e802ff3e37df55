"""Where the tables of this room come from.

Every row of every table carries one of these. `seen` is true where the figures were read in a published text that
states them (named in `note`), false where they are from memory. No text of a standard itself was at hand; "seen"
therefore means a text that quotes or tabulates it.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class Source(NamedTuple):
    """A document with its edition and clause, and whether the figures were seen or recalled."""

    document: str
    edition: str = ""
    clause: str = ""
    seen: bool = False
    note: str = ""


COLOUR_CODE: Final = Source(
    document="IEC 60062", edition="2016", clause="colour code", seen=True, note="quoted tables of digits and tolerances"
)
COLOUR_CODE_RECALLED: Final = Source(
    document="IEC 60062", edition="2016", clause="colour code", note="rarer colours of the table, from memory"
)
RKM: Final = Source(
    document="IEC 60062",
    edition="2016",
    clause="letter and numeral code",
    seen=True,
    note="quoted examples and letters",
)
RKM_RECALLED: Final = Source(document="IEC 60062", edition="2016", clause="letter and numeral code")
TOLERANCE_LETTERS: Final = Source(
    document="IEC 60062", edition="2016", clause="tolerance letters", seen=True, note="quoted tables"
)
TOLERANCE_LETTERS_RECALLED: Final = Source(document="IEC 60062", edition="2016", clause="tolerance letters")
DATE_LETTERS: Final = Source(document="IEC 60062", edition="2016", clause="date codes")
CHIP_DIGITS: Final = Source(
    document="IEC 60062", edition="2016", clause="three- and four-character codes", seen=True, note="quoted examples"
)
EIA_96: Final = Source(
    document="EIA-96", edition="", clause="three-character code", seen=True, note="two printed tables of all 96 codes"
)
EIA_E24_PREFIX: Final = Source(
    document="EIA letter-first code for 2, 5 and 10 % chips", clause="", note="scheme seen, index ranges from memory"
)
INDUCTOR_BANDS: Final = Source(
    document="EIA four-band inductor code", clause="bands", seen=True, note="printed table and worked example, 270 µH"
)
INDUCTOR_MIL: Final = Source(
    document="MIL-C-15305", clause="colour bands", seen=True, note="printed table and worked examples, 2.2 µH, 0.47 µH"
)
INDUCTOR_DIGITS: Final = Source(
    document="three-digit inductor code", clause="", note="as the capacitor code, in microhenries; common practice"
)
CAP_DIGITS: Final = Source(
    document="IEC 60062", edition="2016", clause="three-character code, picofarads", seen=True, note="quoted examples"
)
CAP_EIA_198: Final = Source(
    document="EIA-198", clause="two-character code", seen=True, note="three printed tables that agree"
)
CAP_VOLTAGE: Final = Source(
    document="EIA voltage code (JIS C 5101-1)", clause="rated voltage letters", seen=True, note="two printed tables"
)
CAP_VOLTAGE_RECALLED: Final = Source(document="EIA voltage code (JIS C 5101-1)", clause="rated voltage letters")
CAP_TANTALUM: Final = Source(
    document="EIA-535", clause="marking of chips", seen=True, note="example A475 = 4.7 µF 10 V; letters partly recalled"
)
CAP_CLASS_1: Final = Source(
    document="EIA-198", clause="class 1 temperature coefficients", seen=True, note="quoted tables"
)
CAP_CLASS_2: Final = Source(document="EIA-198", clause="class 2 and 3 characteristics", seen=True, note="quoted tables")
CAP_SAFETY: Final = Source(
    document="IEC 60384-14", clause="classes X and Y", seen=True, note="impulse voltages quoted in a maker's handbook"
)
CAP_TEXT: Final = Source(document="IEC 60384-1", clause="marking", note="value, tolerance and voltage written out")
CAP_FILM: Final = Source(
    document="IEC 60062 (after DIN 41379)", clause="film letters", seen=True, note="printed list of MKT, MKP, KP"
)
CAP_FILM_CN: Final = Source(document="GB/T 2470", clause="type letters")
FUSE_TEXT: Final = Source(
    document="IEC 60127-1",
    edition="2006",
    clause="6 (marking)",
    seen=True,
    note="national adoption, 6.1; example T2AL250V",
)
FUSE_BANDS: Final = Source(
    document="IEC 60127-1", edition="2006", clause="Annex A", seen=True, note="end of table A.1 in a national adoption"
)
FUSE_BREAKING: Final = Source(document="IEC 60127-2", clause="breaking capacity letters", note="values from memory")
FUSE_RATINGS_RECALLED: Final = Source(
    document="IEC 60127-1", edition="2006", clause="Annex A", note="rows under 315 mA"
)
FUSE_UL: Final = Source(document="UL 248-14", clause="ratings", note="usual ratings; common practice")
FUSE_PLUG: Final = Source(
    document="BS 1362", edition="1973", clause="ratings and marking", seen=True, note="ratings and colours quoted"
)
THERMAL_LINK: Final = Source(document="IEC 60691", clause="marking")
VARISTOR_DISC: Final = Source(
    document="disc code of varistor catalogues", seen=True, note="10D471K explained: 10 mm, 470 V at 1 mA, K"
)
VARISTOR_AC: Final = Source(
    document="varistor catalogues",
    clause="largest continuous voltage",
    seen=True,
    note="rows 18 to 68 V in one catalogue",
)
VARISTOR_AC_RECALLED: Final = Source(document="varistor catalogues", clause="largest continuous voltage")
NTC_DISC: Final = Source(
    document="inrush NTC catalogues (MF72 numbering)",
    seen=True,
    note="NTC 10D-13 explained: 10 Ω, 13 mm; ratings table",
)
JEDEC: Final = Source(
    document="EIA-370 (JESD370)",
    clause="type designation",
    seen=True,
    note="prefixes 1N and 2N quoted; 3N, 4N recalled",
)
PRO_ELECTRON: Final = Source(
    document="Pro Electron D15", clause="type designation", seen=True, note="letters and range numbers quoted"
)
JIS_TYPES: Final = Source(document="JIS C 7012", clause="type designation")
JEDEC_RATINGS: Final = Source(
    document="JEDEC registration, as in data sheets", seen=True, note="reverse voltages of 1N4001-7 and 1N5400-8"
)
JEDEC_RATINGS_RECALLED: Final = Source(document="JEDEC registration, as in data sheets")
ZENER_TABLE: Final = Source(
    document="JEDEC registration, as in data sheets", seen=True, note="1N4728A to 1N4754A, voltages and test currents"
)
ZENER_TABLE_RECALLED: Final = Source(document="JEDEC registration, as in data sheets")
ZENER_CODE: Final = Source(
    document="Pro Electron D15", clause="range number", seen=True, note="letter for tolerance, V as the decimal point"
)
DIAC_RATINGS: Final = Source(
    document="diac data sheets", seen=True, note="DB3 28-36 V, DC34 30-38 V, DB4 35-45 V, three makers agree"
)
GENERIC: Final = Source(document="number used by many makers", note="no register; ratings as in their data sheets")
HD_361: Final = Source(
    document="HD 361 S3 (now EN 50565 context)", clause="designation", seen=True, note="four printed code tables"
)
HD_361_RECALLED: Final = Source(document="HD 361 S3", clause="designation")
IEC_60227: Final = Source(document="IEC 60227-1 and IEC 60245-1", clause="code designation")
UL_CORDS: Final = Source(document="UL 62", clause="cord types", seen=True, note="printed tables of types and voltages")
AWG_TABLE: Final = Source(document="ASTM B258", clause="wire diameters", seen=True, note="areas 16 to 28 in a table")
CORD_PRINT: Final = Source(document="IEC 60228", clause="nominal cross-sections", note="written out on the sheath")
IP_CODE: Final = Source(
    document="IEC 60529",
    edition="1989+A1+A2",
    clause="4 to 8",
    seen=True,
    note="quoted tables of both digits and letters",
)
PROTECTION_CLASS: Final = Source(document="IEC 61140", clause="7 (classification)")
GRAPHICAL_SYMBOL: Final = Source(document="IEC 60417", clause="graphical symbols")
LUMINAIRE_SYMBOL: Final = Source(
    document="IEC 60598-1", clause="figure of symbols", seen=True, note="F, M and D in a triangle quoted"
)
MARK_OF_CONFORMITY: Final = Source(document="scheme rules of the body concerned", note="meaning as generally known")
DATE_ISO: Final = Source(document="ISO 8601", clause="week dates")
DATE_PRACTICE: Final = Source(document="date code", note="year and week as four digits; common practice, no source")
POT_TAPER: Final = Source(
    document="taper letters of potentiometers", seen=True, note="two lists; the letters differ between regions"
)
CONFUSED: Final = Source(document="colours easily confused", note="common practice, no source")
