"""The account of one item: every stage run in order, what was skipped and why, as one frozen result.

take(open("demo/globe-lamp"))            # -> Account
Accountant().account(item)               # the same, remembered by what went in
"""

from lidoff.account.cache import Accountant
from lidoff.account.fingerprint import fingerprint
from lidoff.account.model import (
    Account,
    Drawings,
    Figure,
    Knob,
    LightAndMains,
    PartAccount,
    Range,
    Skipped,
    StateAccount,
)
from lidoff.account.taking import STAGES, powers_shown, solved, take

__all__ = [
    "STAGES",
    "Account",
    "Accountant",
    "Drawings",
    "Figure",
    "Knob",
    "LightAndMains",
    "PartAccount",
    "Range",
    "Skipped",
    "StateAccount",
    "fingerprint",
    "powers_shown",
    "solved",
    "take",
]
