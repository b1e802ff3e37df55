"""What the print read from a photo can be as a marking: proposals, best first, of which none is taken."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from lidoff.markings import Candidate, Decoded, decode
from lidoff.photos.lettering import Lettering

# Characters that readers of print take for each other, in both directions. Common practice, no source; 6/9, 8/B, 0/O
# and I/1 were seen in trials on photographed parts.
_PAIRS: Final = ("69", "8B", "0O", "0D", "0Q", "1I", "1l", "5S", "2Z", "6G")
# The weights below order the list and do nothing else. Common practice, no source.
_PER_MISTAKE: Final = 0.2  # for each character that is supposed to be another one
_UPSIDE_DOWN: Final = 0.4  # for print that makes sense either way up: the reader turns it as it likes
_ONE_VIEW: Final = 0.8  # for what only one of the two views shows
_MOST_MISTAKES: Final = 2
_MOST_LINES: Final = 3  # lines of print that are read together as one marking
_LONGEST: Final = 60  # characters; longer print is a text, not a marking
_MOST_PRINTS: Final = 40
_MOST_SPELLINGS: Final = 40
_MOST_PROPOSALS: Final = 30
_LEAST_SHARE: Final = 1e-3  # of the best score; what is less likely is left out
_RIVAL_SHARE: Final = 0.1


def _alternatives() -> Mapping[str, str]:
    found: dict[str, str] = defaultdict(str)
    for one, other in _PAIRS:
        found[one] += other
        found[other] += one
    return MappingProxyType(dict(found))


_ALTERNATIVES: Final = _alternatives()
# What is a character the other way up as well.
_TURNED_OVER: Final[Mapping[str, str]] = MappingProxyType(
    {"0": "0", "1": "1", "6": "9", "8": "8", "9": "6", "H": "H", "I": "I", "N": "N", "O": "O", "S": "S", "X": "X"}
)
_OTHER_WAY_UP: Final = "the other way up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One thing the part can be, if the print is `read` so.

    `seen` is the print as the reader gave it; where `read` differs from it, `supposes` says which characters are
    supposed to be others, or that the part lay the other way up. `confidence` [0 to 1] and `rotation` [degrees] are
    those of the reading, `views` where it was read so. `score` orders proposals.
    """

    candidate: Candidate
    read: str
    seen: str
    supposes: str
    confidence: float
    rotation: int
    views: tuple[str, ...]
    score: float

    def as_json(self) -> dict[str, Any]:
        """The proposal as `decode --photo --json` prints it: the decoder's candidate and what it was read from."""
        return {
            **self.candidate.as_json(),
            "read": self.read,
            "seen": self.seen,
            "supposes": self.supposes,
            "confidence": round(self.confidence, 4),
            "rotation": self.rotation,
            "views": list(self.views),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposed:
    """Everything read from a photo and everything it can mean, best first; what settles it is never the photo alone."""

    letterings: tuple[Lettering, ...]
    candidates: tuple[Proposal, ...]
    would_settle: tuple[str, ...]

    def as_json(self, photo: str) -> dict[str, Any]:
        """The mapping that `decode --photo --json` prints."""
        return {
            "photo": photo,
            "letterings": [one.as_json() for one in self.letterings],
            "candidates": [one.as_json() for one in self.candidates],
            "settled": False,
            "would_settle": list(self.would_settle),
        }


class _Print(NamedTuple):
    """One or several lines of print, in the best of the readings that agree on it."""

    text: str
    confidence: float
    rotation: int
    views: tuple[str, ...]

    @property
    def weight(self) -> float:
        """How much it says: short print is found in anything, what both views show is less often a chance find."""
        characters = sum(character.isalnum() for character in self.text)
        agreed = 1.0 if len(self.views) > 1 else _ONE_VIEW
        return float(self.confidence * agreed * (1.0 - 0.5**characters))


def markings_from(letterings: Iterable[Lettering], kind: str | None = None, measured: str | None = None) -> Proposed:
    """What the readings of a photo can mean as markings, best first.

    Each line of print and each few lines that follow one another are decoded, as read and with the usual confusions
    (6 and 9, 8 and B, 0 and O, 1 and I, 5 and S, 2 and Z, …) undone; a supposed mistake lowers the proposal. `kind`
    and `measured` are those of `lidoff.markings.decode`, whose MarkingError they raise where they are wrong.
    """
    given = tuple(letterings)
    decode("0", kind=kind, measured=measured)  # so that a wrong question is refused also where nothing was read
    prints = sorted(_prints(given), key=lambda one: -one.weight)[:_MOST_PRINTS]
    best: dict[tuple[str, str], Proposal] = {}
    decoded: dict[str, Decoded] = {}
    for print_ in prints:
        for text, supposes, share in _spellings(print_.text):
            if text not in decoded:
                decoded[text] = decode(text, kind=kind, measured=measured)
            for candidate in decoded[text].candidates:
                if "bands" in candidate.more:  # print is no colour, though some of it abbreviates one
                    continue
                proposal = Proposal(
                    candidate=candidate,
                    read=text,
                    seen=print_.text,
                    supposes=supposes,
                    confidence=print_.confidence,
                    rotation=print_.rotation,
                    views=print_.views,
                    score=candidate.score * print_.weight * share,
                )
                same = candidate.kind, candidate.text
                if same not in best or proposal.score > best[same].score:
                    best[same] = proposal
    ranked = sorted(best.values(), key=lambda one: (-one.score, one.read, one.candidate.text))[:_MOST_PROPOSALS]
    kept = tuple(one for one in ranked if one.score >= _LEAST_SHARE * ranked[0].score)
    return Proposed(letterings=given, candidates=kept, would_settle=_would_settle(given, kept, decoded))


def _prints(letterings: Sequence[Lettering]) -> Iterator[_Print]:
    """The lines and the runs of lines, those of one wording put together."""
    same: dict[str, list[tuple[float, int, str]]] = defaultdict(list)
    ways = sorted({(one.view, one.rotation) for one in letterings})
    for view, rotation in ways:
        lines = _in_order([one for one in letterings if (one.view, one.rotation) == (view, rotation)], rotation)
        for first, count in itertools.product(range(len(lines)), range(1, _MOST_LINES + 1)):
            run = lines[first : first + count]
            if len(run) < count:
                continue
            # A gap in a line may be a blank or nothing: "68" and "1" beside it are rather 681.
            joints = ("", " ") if count > 1 and len({line for line, _ in run}) == 1 else (" ",)
            for text in (joint.join(one.text for _, one in run) for joint in joints):
                if len(text) <= _LONGEST and any(character.isalnum() for character in text):
                    same[text].append((min(one.confidence for _, one in run), rotation, view))
    for text, readings in same.items():
        confidence, rotation, _ = max(readings)
        views = {view for _, turn, view in readings if turn == rotation}
        yield _Print(text, confidence, rotation, tuple(sorted(views)))


def _in_order(letterings: Sequence[Lettering], rotation: int) -> list[tuple[int, Lettering]]:
    """As one reads: line by line from the top, each from the left, the photo being turned by `rotation` [degrees].

    With each goes the number of its line.
    """
    placed = sorted(((_turned(one.box, rotation), one) for one in letterings), key=lambda pair: pair[0][1])
    lines: list[list[tuple[tuple[float, float, float], Lettering]]] = []
    for (x, y, height), one in placed:
        if lines and y - lines[-1][0][0][1] < 0.5 * lines[-1][0][0][2]:
            lines[-1].append(((x, y, height), one))
        else:
            lines.append([((x, y, height), one)])
    return [(number, one) for number, line in enumerate(lines) for _, one in sorted(line, key=lambda pair: pair[0][0])]


def _turned(box: tuple[float, float, float, float], rotation: int) -> tuple[float, float, float]:
    """The middle and the height of a box in the photo turned clockwise by `rotation` [degrees; shares of the photo]."""
    left, top, right, bottom = box
    x, y = (left + right) / 2, (top + bottom) / 2
    wide, high = right - left, bottom - top
    turned = {0: (x, y, high), 90: (1 - y, x, wide), 180: (1 - x, 1 - y, high), 270: (y, 1 - x, wide)}
    return turned[rotation]


def _spellings(text: str) -> Iterator[tuple[str, str, float]]:
    """The text as read, the other way up, and with one and two characters taken for those they are confused with.

    With each goes what it supposes and what share of the weight that leaves.
    """
    yield text, "", 1.0
    over = "".join(_TURNED_OVER.get(character, " ") for character in reversed(text))
    if " " not in over and over != text:
        yield over, _OTHER_WAY_UP, _UPSIDE_DOWN
    places = [(place, other) for place, character in enumerate(text) for other in _ALTERNATIVES.get(character, "")]
    choices = itertools.chain.from_iterable(
        itertools.combinations(places, mistakes) for mistakes in range(1, _MOST_MISTAKES + 1)
    )
    apart = (chosen for chosen in choices if len({place for place, _ in chosen}) == len(chosen))
    for chosen in itertools.islice(apart, _MOST_SPELLINGS):
        characters = list(text)
        for place, other in chosen:
            characters[place] = other
        changes = dict.fromkeys(f"{other} for {text[place]}" for place, other in chosen)
        yield "".join(characters), ", ".join(changes), _PER_MISTAKE ** len(chosen)


def _would_settle(
    letterings: Sequence[Lettering], candidates: Sequence[Proposal], decoded: Mapping[str, Decoded]
) -> tuple[str, ...]:
    closer = "photograph it closer, sharp, with light from the side, or give what you see to lidoff decode"
    if not letterings:
        return (f"No print was made out: {closer}.",)
    if not candidates:
        shown = ", ".join(f'"{text}"' for text in list(dict.fromkeys(one.text for one in letterings))[:4])
        return (f"None of what was read ({shown}) is a marking known here: {closer}.",)
    best = candidates[0]
    against = [one for one in candidates[1:] if one.score >= _RIVAL_SHARE * best.score]
    reads = list(dict.fromkeys([best.read, *(one.read for one in against)]))[:4]
    advice = [
        f"Compare the part itself, under a lens and character by character, with {' or '.join(reads)}; then give what "
        "stands there to lidoff decode."
    ]
    over = next((one for one in against if one.supposes == _OTHER_WAY_UP and one.seen == best.seen), None)
    if over is not None:
        advice.append(
            f"Find which way up the print stands, {best.read} or {over.read}: a line under a 6 or 9, other print "
            "beside it, the pins or the mark at pin 1 tell."
        )
    advice += decoded[best.read].would_settle
    return tuple(dict.fromkeys(advice))
