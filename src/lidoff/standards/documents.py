"""The documents that tables are taken from: titles and editions. A row that names none of them cannot be made."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final


class UnknownDocumentError(ValueError):
    """A table row or a rule names a document that is not on the list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A published document. `editions` are those that rows here refer to, the one to use first."""

    id: str
    title: str
    editions: tuple[str, ...]

    @property
    def edition(self) -> str:
        """The edition to use where nothing else is said."""
        return self.editions[0]


_LIST: Final = (
    # Electromagnetic compatibility
    (
        "IEC 61000-3-2",
        "Limits for harmonic current emissions (input current up to 16 A per phase)",
        "2018+A1:2020",
        "2014",
    ),
    ("CISPR 15", "Limits and methods of measurement of radio disturbance of lighting equipment", "2018"),
    ("CISPR 32", "Electromagnetic compatibility of multimedia equipment: emission", "2015"),
    ("CISPR 14-1", "Electromagnetic compatibility: household appliances, tools: emission", "2020"),
    ("CISPR 16-1-1", "Radio disturbance measuring apparatus: measuring receivers", "2019"),
    ("CISPR 16-1-2", "Radio disturbance measuring apparatus: coupling devices for conducted measurements", "2014"),
    (
        "47 CFR 18",
        "Code of Federal Regulations, title 47, part 18: industrial, scientific, medical equipment",
        "as in force 2024",
    ),
    ("IEC 60725", "Reference impedances and public supply network impedances", "2012"),
    # Light
    ("IEEE Std 1789", "Recommended practices for modulating current in high-brightness LEDs", "2015"),
    ("IEC TR 63158", "Objective test method for stroboscopic effects of lighting equipment", "2018+COR1:2018"),
    (
        "Perz 2018",
        "Perz, Sekulovski, Vogels, Heynderickx: Stroboscopic effect: contrast threshold function and "
        "dependence on illumination level, JOSA A 35(2) 309",
        "2018",
    ),
    ("IEC TR 61547-1", "Objective light flickermeter and voltage fluctuation immunity test", "2017"),
    (
        "(EU) 2019/2020",
        "Commission Regulation: ecodesign requirements for light sources and separate control gears",
        "2019 as amended by (EU) 2021/341",
        "2019",
    ),
    # Insulation and product safety
    ("IEC 60664-1", "Insulation coordination for equipment within low-voltage supply systems", "2020"),
    (
        "IEC 60335-1",
        "Household and similar electrical appliances: safety: general requirements",
        "2010+A2:2016",
        "1991",
    ),
    (
        "IEC 60730-2-9",
        "Automatic electrical controls: particular requirements for temperature sensing controls",
        "2015+A1:2018",
    ),
    ("IEC 62368-1", "Audio/video, information and communication technology equipment: safety", "2018"),
    ("IEC 60950-1", "Information technology equipment: safety", "2005+A2:2013"),
    ("IEC 60065", "Audio, video and similar electronic apparatus: safety", "2011"),
    ("IEC 60598-1", "Luminaires: general requirements and tests", "2014+A1:2017", "2008"),
    ("IEC 61010-1", "Safety requirements for electrical equipment for measurement, control and laboratory use", "2010"),
    ("IEC 60204-1", "Safety of machinery: electrical equipment of machines", "2016"),
    ("IEC 61347-1", "Lamp controlgear: general and safety requirements", "2015"),
    ("IEC 62931", "GX16t-5 capped tubular LED lamps: safety specifications", "2017"),
    ("IEC 60990", "Methods of measurement of touch current and protective conductor current", "2016"),
    ("IEC 60112", "Proof and comparative tracking indices of solid insulating materials", "2020"),
    ("EN 50106", "Household appliances: safety: routine tests", "2008"),
    ("UL 60065", "Audio, video and similar electronic apparatus: safety (UL/CSA)", "not stated"),
    (
        "UK in-service code",
        "Code of practice for in-service inspection and testing of electrical equipment (UK)",
        "not stated",
    ),
    (
        "AS/NZS 3760",
        "In-service safety inspection and testing of electrical equipment (Australia, New Zealand)",
        "not stated",
    ),
    ("DIN VDE 0701-0702", "Test after repair and repeat test of electrical appliances (Germany)", "2008"),
    ("2014/35/EU", "Low Voltage Directive", "2014"),
    ("ECMA-287", "Safety of electronic equipment", "not stated"),
    # Components
    ("IEC 60384-14", "Fixed capacitors: interference suppression and connection to the supply mains", "2013"),
    ("IEC 60384-4", "Fixed capacitors: aluminium electrolytic capacitors", "2016"),
    ("IEC 60115-1", "Fixed resistors: generic specification", "2020"),
    ("IEC 60393-1", "Potentiometers: generic specification", "2008"),
    ("IEC 60747-2", "Semiconductor devices: rectifier diodes", "2016"),
    ("IEC 60747-6", "Semiconductor devices: thyristors", "2016"),
    ("IEC 61058-1", "Switches for appliances: general requirements", "2016"),
    # Plugs, cords, fuses
    ("BS 1362", "General purpose fuse links for domestic and similar purposes (primarily for use in plugs)", "1973"),
    ("BS 1363", "13 A plugs, socket-outlets, connection units and adaptors", "1995"),
    ("NEMA WD 6", "Wiring devices: dimensional specifications", "not stated"),
    ("EN 50075", "Flat non-wirable two-pole plugs 2.5 A 250 V", "1990"),
    ("CEE 7", "Specification for plugs and socket-outlets for domestic and similar purposes", "1983"),
    ("IEC 60446", "Identification of conductors by colours", "2007"),
    ("NFPA 70", "National Electrical Code (United States)", "2020"),
    ("IEC 60127-1", "Miniature fuses: definitions and general requirements", "2006"),
    ("IEC 60127-2", "Miniature fuses: cartridge fuse-links", "2003+A2:2010"),
    # Conductors
    ("IEC 60228", "Conductors of insulated cables", "2004"),
    ("VDE 0295", "Conductors for cables (Germany)", "2005"),
    ("BS 6500", "Flexible cords rated up to 300/500 V", "2000"),
    ("ASTM B566", "Copper-clad aluminium wire", "2004a"),
    ("ASTM B258", "Standard nominal diameters and areas of AWG sizes of solid round wires", "2018"),
    ("IEC 60028", "International standard of resistance for copper", "1925"),
    ("Conductor handbook", "Industrial power engineering and applications handbook: conductor metals", "not stated"),
    # Risk, measurement
    (
        "(EU) 2024/3173",
        "Commission Delegated Regulation: Safety Gate rapid alert system, criteria for risk levels",
        "2024",
    ),
    ("2010/15/EU", "RAPEX guidelines, with worked examples of risk assessment (repeated in (EU) 2019/417)", "2010"),
    ("IEC 62301", "Household electrical appliances: measurement of standby power", "2011", "2005"),
    ("JCGM 100", "Evaluation of measurement data: guide to the expression of uncertainty (GUM)", "2008"),
    ("Meter manuals", "Manuals of average-responding and true-rms hand meters, form-factor tables", "various"),
    ("Capacitor makers", "Capacitor makers' application notes on life of aluminium electrolytics", "various"),
    ("Chip resistor tables", "Power ratings common to makers of surface-mount resistors", "various"),
    ("Bench practice", "Common practice on the bench, no published source", "-"),
)

DOCUMENTS: Final = MappingProxyType(
    {entry[0]: Document(id=entry[0], title=entry[1], editions=tuple(entry[2:])) for entry in _LIST}
)
"""Every known document by its id."""


def document(id: str) -> Document:
    """The document of that id. Raises UnknownDocumentError, which says where to add it."""
    found = DOCUMENTS.get(id)
    if found is None:
        raise UnknownDocumentError(f"no document {id!r} is on the list; add its title and edition in documents.py")
    return found
