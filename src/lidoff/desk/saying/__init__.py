"""Parts and connections as said sentences: "R1 4k7 from p to m", "BR1 bridge on a, neutral gives p, m".

    said("C1 330n X2 across live and neutral")     # -> Said: the [[part]] it makes, and how it was understood

A sentence begins with the part's name. What follows may stand in any order: what kind it is (its name tells often
enough), its value and ratings, its marking (colours as words, a type number, anything between quotes), and where it is
joined. Words that are not understood are an error that says what was.
"""

from lidoff.desk.saying.joins import SayingError
from lidoff.desk.saying.sentence import GRAMMAR, Said, said, swatches

__all__ = ["GRAMMAR", "Said", "SayingError", "said", "swatches"]
