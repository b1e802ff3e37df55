"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

# Plain words in the help pages and no "--no-json".
Json = Annotated[
    bool, Parameter(name="--json", negative=(), show_default=False, help="Print one JSON document in SI units.")
]
ItemPath = Annotated[Path, Parameter(help="A record folder, or a record's .toml file.")]
State = Annotated[
    str | None, Parameter(name="--state", help="Which state of the record; without it, the one named first.")
]
Changes = Annotated[
    list[str] | None,
    Parameter(
        name="--set",
        negative=(),
        consume_multiple=False,
        help="Change a value first, such as R1.value=2k2 or supply.voltage=253; may be given several times.",
    ),
]


class UsageError(Exception):
    """The command was called wrongly: exit status 2. The text is one sentence."""
