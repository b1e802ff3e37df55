"""Finds the command, runs it, and turns what goes wrong into one sentence and an exit status."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from lidoff.errors import LidoffError

if TYPE_CHECKING:
    from cyclopts import App
    from cyclopts.help import DefaultFormatter

DONE, WRONG_INPUT, WRONG_USAGE = 0, 1, 2
_INTERRUPTED = 130  # 128 + SIGINT, as shells have it

_ABOUT = (
    "Turns the pieces of an opened mains-powered product into an account that stands up.\n\n"
    "Work on what is inside such a product only when it is unplugged and its capacitors are discharged. Nothing that "
    "this program prints says that an item may be used; local codes and licensed practice decide."
)


def build(*, with_help: bool = False) -> App:
    """The command line with all its commands; none is loaded unless the help pages are wanted as well."""
    from cyclopts import App

    import lidoff
    from lidoff.cli.commands import COMMANDS

    app = App(
        name="lidoff",
        help=_ABOUT,
        version=lidoff.__version__,
        version_flags=["--version"],
        help_flags=["--help", "-h"],
        help_format="plaintext",
        exit_on_error=False,
        print_error=False,
        result_action="return_value",
    )
    for place, (name, function) in enumerate(COMMANDS.items()):
        app.command(f"lidoff.cli.{function}", name=name, sort_key=place)
    if with_help:
        app.help_formatter = _page_layout()
        for name in COMMANDS:
            app[name]  # loads it: the overview shows the first line of each command's docstring
    return app


def _page_layout() -> DefaultFormatter:
    """Help pages with headings and indents instead of frames."""
    from cyclopts.help import DefaultFormatter, PanelSpec
    from rich.box import Box

    return DefaultFormatter(panel_spec=PanelSpec(box=Box("    \n" * 8), title_align="left", padding=(0, 2)))


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command, `sys.argv[1:]` unless given, and return the exit status."""
    try:
        return _run(sys.argv[1:] if arguments is None else arguments)
    except KeyboardInterrupt:  # also while what a command needs is still being loaded
        return _INTERRUPTED


def _run(arguments: Sequence[str]) -> int:
    _speak_utf8()
    from cyclopts import CycloptsError

    from lidoff.cli.options import UsageError

    words = list(arguments)
    try:
        status = build(with_help=not words or bool({"--help", "-h"} & set(words)))(words)
        sys.stdout.flush()
    except CycloptsError as error:
        return _complain(_usage_sentence(error), WRONG_USAGE)
    except UsageError as error:
        return _complain(str(error), WRONG_USAGE)
    except LidoffError as error:
        return _complain(_with_file(str(error), words), WRONG_INPUT)
    except BrokenPipeError:
        # The reader has gone (`lidoff … | head`): nobody is left to tell. Keeps the interpreter from trying at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return WRONG_INPUT
    except OSError as error:
        return _complain(_file_sentence(error), WRONG_INPUT)
    return status if isinstance(status, int) else DONE


def _complain(sentence: str, status: int) -> int:
    print(sentence, file=sys.stderr)
    return status


def _usage_sentence(error: Exception) -> str:
    """What the parser of the command line says, as one line that ends in where to look."""
    # A list of commands that the parser cuts off is no list; the page named at the end has all of them.
    sentence = re.sub(r" Available commands:.*", "", " ".join(str(error).split()))
    chain = getattr(error, "command_chain", None) or ()
    page = " ".join(("lidoff", *chain, "--help"))
    return f"{sentence.rstrip('.')}; see: {page}"


def _with_file(sentence: str, words: Sequence[str]) -> str:
    """The sentence with the record or file that the command was given, where it names none of them.

    What goes wrong deep inside knows parts and nodes, and not the file they were read from. A goal or change given
    on the command line and named in the sentence is where the mistake is.
    """
    files = [Path(word) for word in words[1:] if not word.startswith("-") and Path(word).exists()]
    if not files or any("=" in word and word in sentence for word in words):
        return sentence
    if any(str(file) in sentence or (file.name and file.name in sentence) for file in files if file != Path()):
        return sentence
    record = files[0] / "item.toml"
    return f"{record if record.exists() else files[0]}: {sentence}"


def _file_sentence(error: OSError) -> str:
    name = error.filename if isinstance(error.filename, str) else "a file"
    return f"{name}: {error.strerror or error}."


def _speak_utf8() -> None:
    """Units and signs are not ASCII: write them whatever the locale says, and never fail over one."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8", errors="replace")
