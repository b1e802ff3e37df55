"""What a marking on a part can mean, as a ranked list with reasons.

    decode("104K").candidates[0].text            # "100 nF ±10 %"
    decode("red black red", measured="0.1 R")    # rather a fuse, a link or a small choke than 2 kΩ
    value_for("resistor", "brown green red gold")

Each scheme is a module that reads what was seen and gives candidates; `registry` asks them all, weighs them by a
bench measurement and ranks them; `printing` writes values in every scheme. Tables are data modules whose rows name
their source. Nothing heavy is imported here, so that the command answers at once.
"""

from lidoff.markings.model import UNIT_OF_KIND, Candidate, Decoded, MarkingError
from lidoff.markings.registry import SCHEMES, Scheme, decode, value_for
from lidoff.markings.sources import Source

__all__ = [
    "SCHEMES",
    "UNIT_OF_KIND",
    "Candidate",
    "Decoded",
    "MarkingError",
    "Scheme",
    "Source",
    "decode",
    "value_for",
]
