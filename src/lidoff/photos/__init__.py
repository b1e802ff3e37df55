"""What a photograph shows, proposed and never taken.

    letterings = read_lettering("c3.jpg")                  # everything that looks like print, all ways up
    markings_from(letterings, kind="capacitor").proposals  # what that print can mean, best first

`picture` opens a photo from anywhere without trusting it, `lettering` reads the print on it, `proposing` matches what
was read against what markings can be. The reader is the optional extra `text`; it is imported when first used.
"""

from lidoff.photos.lettering import Lettering, read_lettering
from lidoff.photos.picture import PhotoError
from lidoff.photos.proposing import Proposal, Proposed, markings_from

__all__ = ["Lettering", "PhotoError", "Proposal", "Proposed", "markings_from", "read_lettering"]
