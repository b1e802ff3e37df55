"""The record of one item: reading, checking, starting and writing back `item.toml`.

Writing back with the user's comments and order kept is in `lidoff.record.edit`, loaded when it is asked for.
"""

from lidoff.record.checking import CheckResult, check
from lidoff.record.dump import dump
from lidoff.record.model import (
    Accuracy,
    Block,
    Item,
    Meter,
    OwnParagraph,
    Part,
    Photo,
    Problem,
    Reading,
    Recording,
    Sighting,
    State,
    Supply,
    Table,
    Telling,
    Unknown,
    Value,
)
from lidoff.record.problems import RecordError
from lidoff.record.reading import FORMAT, examine, open, read_text
from lidoff.record.starting import new
from lidoff.record.supply import NOMINAL_MAINS, effective_supply

__all__ = [
    "FORMAT",
    "NOMINAL_MAINS",
    "Accuracy",
    "Block",
    "CheckResult",
    "Item",
    "Meter",
    "OwnParagraph",
    "Part",
    "Photo",
    "Problem",
    "Reading",
    "RecordError",
    "Recording",
    "Sighting",
    "State",
    "Supply",
    "Table",
    "Telling",
    "Unknown",
    "Value",
    "check",
    "dump",
    "effective_supply",
    "examine",
    "new",
    "open",
    "read_text",
]
