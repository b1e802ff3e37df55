"""The list of commands, in the order of the overview. To add one, write a module with one function and add a line here.

The function's parameters are the command's arguments and options (see `options.py` for the shared ones), its docstring
is its help page with the first line standing in the overview, and what it returns is the exit status. It imports the
rooms it needs inside itself, so that `lidoff --help` loads none of them. What it has to say goes through `show.answer`;
a command that solves calls `show.before_solving` first.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

# Name of the command: the function that does it, as "module:function" in this room.
COMMANDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "new": "new:new",
        "check": "check:check",
        "decode": "decode:decode",
        "figures": "figures:figures",
        "turn": "turn:turn",
        "vary": "vary:vary",
        "spread": "spread:spread",
        "faults": "faults:faults",
        "hazards": "hazards:hazards",
        "readings": "readings:readings",
        "draw": "draw:draw",
        "rework": "rework:rework",
        "photo": "photo:photo",
        "sheet": "sheet:sheet",
        "trace": "trace:trace",
        "report": "report:report",
        "shelf": "shelf:shelf",
        "desk": "desk:desk",
        "demo": "demo:demo",
    }
)
