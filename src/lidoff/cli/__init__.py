"""The `lidoff` command: text for people, or one JSON document with `--json`.

Exit status: 0 done; 1 the record or the input is wrong (one message on standard error); 2 wrong usage.
A command is one function in a module of its own, found through the list in `commands.py`.
"""

from lidoff.cli.run import main

__all__ = ["main"]
