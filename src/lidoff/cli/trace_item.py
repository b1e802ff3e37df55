"""`lidoff trace ITEM`: connections from the photos of a record, asked about, kept, and written into its parts."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.options import UsageError

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.photos.connections import Connections
    from lidoff.photos.joins import Join, Joins
    from lidoff.photos.kept import Trace
    from lidoff.photos.proposal import Proposal, Settings
    from lidoff.photos.straighten import Floats
    from lidoff.record import Item

Several = Parameter(negative=(), consume_multiple=False)
Plain = Parameter(negative=(), show_default=False)


@Parameter(name="*")
@dataclass(frozen=True, kw_only=True)
class ItemOptions:
    """What may be said with an item, beside the item."""

    ask: Annotated[bool, Plain, Parameter(help="With an item: ask about what is doubtful, one key an answer.")] = False
    write: Annotated[bool, Plain, Parameter(help="With an item: write the nodes into item.toml.")] = False
    replace: Annotated[bool, Plain, Parameter(help="Let the trace go before nodes that were typed.")] = False
    name: Annotated[
        list[str] | None, Several, Parameter(help="Which pin a pad is: P007=R1.2; several with commas.")
    ] = None
    add: Annotated[list[str] | None, Several, Parameter(help="A pad more: P020=x,y in the copper photo.")] = None
    drop: Annotated[list[str] | None, Several, Parameter(help="Pads that are none: P004,P011.")] = None
    told: Annotated[list[str] | None, Several, Parameter(help="Which node a pad is on: P003=live.")] = None
    joined: Annotated[list[str] | None, Several, Parameter(help="Two pads measured as joined: P001=P004.")] = None
    apart: Annotated[list[str] | None, Several, Parameter(help="Two pads measured as not joined.")] = None
    wire: Annotated[list[str] | None, Several, Parameter(help="A jumper or wire between two pads.")] = None
    width: Annotated[float | None, Parameter(help="The board's width as the copper side is seen, in mm.")] = None
    height: Annotated[float | None, Parameter(help="Its height, in mm.")] = None
    length: Annotated[
        str | None, Parameter(help="A known length in the copper photo: x,y=x,y=MM in pixels and mm.")
    ] = None
    line: Annotated[float, Parameter(help="What the printed sheet's line of 100 mm measures, in mm.")] = 100.0
    thickness: Annotated[float, Parameter(help="How far the side seen lies above the sheet, in mm.")] = 1.6
    gap: Annotated[float, Parameter(help="The narrowest gap between tracks, in mm.")] = 0.3
    corners: Annotated[
        list[str] | None, Several, Parameter(help='A photo\'s board corners: "photos/copper.jpg=x,y x,y x,y x,y".')
    ] = None
    pair: Annotated[
        list[str] | None, Several, Parameter(help="A hole in both photos: x,y=x,y, the copper photo first.")
    ] = None


NOTHING_SAID = ItemOptions()


def trace_item(item: Path, options: ItemOptions = NOTHING_SAID, *, pads: Path | None = None, json: bool = False) -> int:
    """Proposes, asks where wanted, keeps the trace, and shows or makes the change to the record."""
    from lidoff.cli.show import answer
    from lidoff.photos import kept
    from lidoff.photos.connections import changed_text, connections, shown
    from lidoff.photos.proposal import propose
    from lidoff.record import edit
    from lidoff.record import open as open_record

    if options.ask and json:
        raise UsageError("--ask talks to a person and --json to a program; give one of them")
    record = open_record(item)
    folder = record.folder
    proposal = propose(record, kept.read(folder), _settings(options), tell=_tell(record, options, pads))
    trace = proposal.trace
    kept.write(folder, trace)
    joins = None if proposal.traced is None else proposal.traced.joins
    if options.ask and joins is not None:

        def keep(one: Trace) -> None:
            kept.write(folder, one)

        trace, joins = _asked(trace, joins, keep)
    found = connections(record, trace, replace=options.replace)
    source = edit.load(record.path)
    after = changed_text(record, source.text, found.changes)
    change = shown(source.text, after, record.path.name)
    written = bool(found.changes) and (options.write or (options.ask and _agreed(change, found)))
    if written:
        edit.save(source, after)
    document = _document(record, proposal, trace, joins, found, change, written)
    return answer(document, as_json=json, text=lambda out: _text(out, document), warnings=proposal.remarks)


def _settings(options: ItemOptions) -> Settings:
    from lidoff.photos.proposal import Settings
    from lidoff.photos.telling import point, split

    corners: dict[str, list[tuple[float, float]]] = {}
    for one in options.corners or ():
        file, places = split(one, "photos/copper.jpg=x,y x,y x,y x,y")
        corners[file] = [point(place) for place in places.split()]
    pairs = [split(one, "x,y=x,y") for one in options.pair or ()]
    length = None
    if options.length is not None:
        first, rest = split(options.length, "x,y=x,y=MM")
        second, mm = split(rest, "x,y=x,y=MM")
        try:
            length = (point(first), point(second), float(mm))
        except ValueError as error:
            raise UsageError(f"--length {options.length}: {mm} is no number of mm") from error
    return Settings(
        width=options.width,
        height=options.height,
        line=options.line,
        thickness=options.thickness,
        gap=options.gap,
        corners=corners,
        clicked=[(point(one), point(other)) for one, other in pairs],
        length=length,
    )


def _tell(record: Item, options: ItemOptions, pads: Path | None) -> Callable[[Trace, Floats], Trace]:
    from lidoff.photos import telling

    def tell(trace: Trace, to_board: Floats) -> Trace:
        if pads is not None:
            trace = telling.with_pads(trace, record, pads, to_board)
        trace = telling.without(trace, options.drop or ())
        trace = telling.with_more(trace, options.add or (), to_board)
        trace = telling.named(trace, record, options.name or ())
        trace = telling.told(trace, options.told or ())
        trace = telling.answered(trace, options.joined or (), joined=True, measured=True)
        trace = telling.answered(trace, options.apart or (), joined=False, measured=True)
        return telling.wired(trace, options.wire or ())

    return tell


def _asked(trace: Trace, joins: Joins, keep: Callable[[Trace], None]) -> tuple[Trace, Joins]:
    """The trace and its joins after the user answered what he would; each answer is kept at once.

    One key an answer: y joined, n not joined, s not now, u takes the last answer back, m changes between answers by
    the meter and by eye, q ends. Where standard input is no terminal the keys are read from it as they come.
    """
    from lidoff.photos.proposal import with_joins

    file = trace.photos[0].file
    given: list[tuple[str, str]] = []
    put_off: set[frozenset[str]] = set()
    by = "continuity"
    print("Discharged? Then: y joined, n not, s later, u undo, m by meter or by eye, q stop.", file=sys.stderr)
    while (question := _next(joins, put_off)) is not None:
        left = sum(frozenset((one.a, one.b)) not in put_off for one in joins.doubtful)
        print(_question(trace, question, left, by), end="", file=sys.stderr, flush=True)
        key = _key()
        print(key.strip() or "", file=sys.stderr)
        if key in ("", "q"):
            break
        if key == "m":
            by = "user" if by == "continuity" else "continuity"
        elif key == "s":
            put_off.add(frozenset((question.a, question.b)))
        elif key == "u" and given:
            joins = joins.take_back(*given.pop())
        elif key in ("y", "n"):
            joins = joins.answer(question.a, question.b, joined=key == "y", by=by)
            given.append((question.a, question.b))
        else:
            continue
        trace = with_joins(trace, joins, file)
        keep(trace)
    return trace, joins


def _next(joins: Joins, put_off: set[frozenset[str]]) -> Join | None:
    return next((one for one in joins.doubtful if frozenset((one.a, one.b)) not in put_off), None)


def _question(trace: Trace, question: Join, left: int, by: str) -> str:
    words = []
    for name in (question.a, question.b):
        pad = trace.pad(name)
        assert pad is not None
        pin = f"{pad.part}.{pad.pin} " if pad.part else ""
        words.append(f"{pin}{name} ({pad.x:.1f}, {pad.y:.1f} mm)")
    how = "by the meter" if by == "continuity" else "by eye"
    return f"{left:3d} left, {how}: {words[0]} and {words[1]} joined? "


def _key() -> str:
    """One key in lower case; "" at the end of the input."""
    if not sys.stdin.isatty():
        sign = sys.stdin.read(1)
        while sign and sign.isspace():
            sign = sys.stdin.read(1)
        return sign.lower()
    try:
        import termios
        import tty
    except ImportError:  # no terminal to speak to key by key: a key and Enter
        return (sys.stdin.readline().strip() or " ")[:1].lower()
    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)
    try:
        tty.setcbreak(handle)
        return sys.stdin.read(1).lower()
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)


def _agreed(change: str, found: Connections) -> bool:
    """Whether the user wants the change made, after having seen it."""
    for sentence in found.disagreements:
        print(sentence, file=sys.stderr)
    print(change, file=sys.stderr)
    print("Write this into item.toml? y or n: ", end="", file=sys.stderr, flush=True)
    key = _key()
    print(key.strip(), file=sys.stderr)
    return key == "y"


def _document(
    record: Item,
    proposal: Proposal,
    trace: Trace,
    joins: Joins | None,
    found: Connections,
    change: str,
    written: bool,
) -> dict[str, Any]:
    from lidoff.photos.naming import pieces_of

    traced = proposal.traced
    board = trace.board
    told = sum(one.evidence.kind != "picture" for one in trace.joins)
    return {
        "file": str(record.folder / "trace.json"),
        "board": None if board is None else {"width": board.width, "height": board.height, "scale": board.scale_from},
        "photos": [
            {
                "file": photo.file,
                "corners": [list(corner) for corner in photo.corners],
                "mirrored": photo.mirrored,
                "aligned_by": photo.aligned_by,
                "residual": photo.residual,
                "quality": proposal.quality[photo.file].as_json(),
            }
            for photo in trace.photos
        ],
        "holes": len(trace.holes),
        "bodies": len(trace.bodies),
        "pads": [pad.model_dump() for pad in trace.pads],
        "pieces": [list(piece) for piece in pieces_of(trace).pieces],
        "answers": told,
        "doubtful": [] if joins is None else [[one.a, one.b] for one in joins.doubtful],
        "refused": None if traced is None else traced.refused,
        "nodes": {one.part: dict(one.after) for one in found.changes},
        "change": change,
        "written": written,
        "disagreements": list(found.disagreements),
        "missing": list(found.missing),
    }


def _text(out: Console, document: Mapping[str, Any]) -> None:
    from lidoff.cli.show import headline, table

    pads, pieces = document["pads"], [piece for piece in document["pieces"] if len(piece) > 1]
    headline(
        out,
        [
            (str(len(pads)), "pads"),
            (str(len(pieces)), "pieces of copper with two pads or more"),
            (str(len(document["doubtful"])), "questions open"),
        ],
    )
    out.print()
    titles = {pad["id"]: f"{pad['part']}.{pad['pin']}" if pad["part"] else pad["id"] for pad in pads}
    if pads:
        rows = table("pad", "pin", "x, mm", "y, mm", "told", numbers=(2, 3))
        for pad in pads:
            pin = f"{pad['part']}.{pad['pin']}" if pad["part"] else "–"
            rows.add_row(pad["id"], pin, f"{pad['x']:.1f}", f"{pad['y']:.1f}", pad["node"] or "")
        out.print(rows)
        out.print()
    for piece in pieces:
        out.print("joined: " + ", ".join(titles[name] for name in piece), soft_wrap=True)
    for sentence in (*document["disagreements"], *document["missing"]):
        out.print(sentence, soft_wrap=True)
    if document["written"]:
        out.print("Written into item.toml.")
    elif document["change"]:
        out.print()
        out.print(document["change"], soft_wrap=True)
        out.print("Nothing is written yet: --write does.")
    out.print(f"Kept in {document['file']}.", soft_wrap=True)
