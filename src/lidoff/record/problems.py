"""Everything that is wrong with a record, collected as it is read, and the error that carries it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, Final

from lidoff.errors import LidoffError
from lidoff.record.locate import Path, Places
from lidoff.record.model import Problem

# Looking for the nearest word among thousands, thousands of times, would take minutes and help nobody.
_MOST_WORDS: Final = 500
_MOST_PROBLEMS: Final = 200
_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")


class RecordError(LidoffError):
    """A record that cannot be read: its text is the first error as one sentence, `problems` are all, in line order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = in_order(problems)
        super().__init__(str(next((one for one in self.problems if one.level == "error"), "")))

    @property
    def errors(self) -> tuple[Problem, ...]:
        """The problems without the warnings."""
        return tuple(one for one in self.problems if one.level == "error")

    def __reduce__(self) -> tuple[Any, ...]:
        return RecordError, (self.problems,)


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems by line; those of one line stay as found."""
    return tuple(sorted(problems, key=lambda problem: problem.line))


def refusal(message: str, file: str, line: int = 0, key: str = "") -> RecordError:
    """The error for something that stops all reading."""
    return RecordError([Problem(line=line, key=one_line(key), message=one_line(message), file=file)])


def one_line(text: str) -> str:
    """Without line breaks and the control characters by which a record could meddle with the reader's terminal."""
    return _CONTROL.sub(" ", text)


class Notes:
    """Collects the problems of one record while it is read.

    `lost` are the kinds of thing ("part", "node", "state", "meter") of which some could not be read: a name that seems
    to refer to nothing may refer to that one, and is not complained about as well.
    """

    def __init__(self, file: str, places: Places) -> None:
        self.file = file
        self.places = places
        self.problems: list[Problem] = []
        self.lost: set[str] = set()

    def error(self, path: Path, key: str, sentence: str) -> None:
        """Something wrong at `path`; `sentence` follows the key in the message."""
        self._add(path, key, sentence, "error")

    def warn(self, path: Path, key: str, sentence: str) -> None:
        """Something doubtful at `path`, which does not stop the reading."""
        self._add(path, key, sentence, "warning")

    def _add(self, path: Path, key: str, sentence: str, level: Any) -> None:
        message = f"{key}: {sentence}" if key else sentence
        self.problems.append(
            Problem(
                line=self.places.line(path),
                key=one_line(key),
                message=one_line(message),
                level=level,
                file=self.file,
            )
        )

    def nearest(self, word: str, words: Iterable[str], other_names: dict[str, str] | None = None) -> str:
        """The end of a message that names the nearest of `words`, or all of them where none is near."""
        known = list(words) if len(self.problems) <= _MOST_PROBLEMS else []
        if not known or len(known) > _MOST_WORDS:
            return ""
        known = sorted(set(known))
        near = nearest(word, known, other_names)
        if near is not None:
            return f'; nearest known: "{near}"'
        return f"; known: {listed(known)}" if len(known) <= 30 else ""


def nearest(
    word: str, words: Sequence[str], other_names: dict[str, str] | None = None, cutoff: float = 0.6
) -> str | None:
    """The one of `words` that `word` was most likely meant to be, or None.

    `other_names` are names used elsewhere for the same thing ("pot" for potentiometer); `cutoff` is the share of
    letters that must agree [none].
    """
    folded = {_folded(one): one for one in reversed(words)}
    if _folded(word) in folded:
        return folded[_folded(word)]
    if other_names and (meant := other_names.get(_folded(word))) in words:
        return meant
    # Only a record with a mistake in it needs this, and a sound one should open at once.
    from difflib import get_close_matches

    close = get_close_matches(_folded(word), list(folded), n=1, cutoff=cutoff)
    return folded[close[0]] if close else None


def listed(words: Iterable[str]) -> str:
    """Words in a sentence: "a, b, c"."""
    return ", ".join(f'"{word}"' if not word or " " in word else word for word in words)


def quoted(value: object) -> str:
    """A value as it stands in the record, short enough for a message."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{value}"'
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def _folded(word: str) -> str:
    return word.casefold().replace("-", "_").replace(" ", "_").strip()
