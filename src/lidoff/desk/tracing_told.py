"""What the tracing page is told, as JSON; places in mm on the board, corners in pixels of the upright photo."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.desk.tracing_acts import title
from lidoff.desk.tracing_bench import Bench, questions
from lidoff.kinds import KINDS, MAINS_NODES
from lidoff.photos.connections import Connections, changed_text, connections, shown
from lidoff.photos.intake import pixels
from lidoff.photos.joins import Join
from lidoff.photos.kept import KeptJoin, KeptPhoto, Picture, Trace
from lidoff.photos.naming import name_nodes, pieces_of
from lidoff.photos.straighten import Floats, Pose, mapped, pose_from_corners, straightened
from lidoff.record import Item

MARGIN: Final = 1.0
"""Ground kept round the straightened board [mm]."""
_MOST_PIXELS: Final = 9_000_000
_PREVIEW: Final = 640  # pixels
_HERE: Final = (
    (
        "say --width, --length, or photograph it on the sheet (lidoff sheet)",
        "give its width, or the marks of a ruler, under “Corners and scale”",
    ),
    ("set them with --corners where they are off", "set them right under “Corners and scale”"),
    (
        "give three to six holes that both photos show with --pair",
        "give three to six under “Lay both sides over each other”",
    ),
    ("settle it with --pair", "settle it under “Lay both sides over each other”"),
)


def told(bench: Bench) -> dict[str, Any]:
    """Everything but the ways of the joins."""
    state, joins = bench.state, bench.joins
    trace, item = state.trace, bench.item()
    pose = np.array(trace.photos[0].pose) if trace.photos else None
    pieces = pieces_of(trace)
    piece_of = {name: n for n, piece in enumerate(pieces.pieces) for name in piece}
    nodes = name_nodes(trace, item).nodes if item is not None else {}
    shown_joins = _joins(joins.joins, pose)
    seen = {frozenset((one.a, one.b)) for one in joins.joins}
    # What an earlier sitting read stands until the copper has been read in this one.
    shown_joins += [_kept_join(one) for one in trace.joins if frozenset((one.a, one.b)) not in seen]
    return {
        "number": bench.number,
        "paths_number": bench.paths_number,
        "working": bench.working,
        "read": state.read_copper is not None,
        "trouble": bench.trouble,
        "undo": bench.back,
        "redo": bench.forth,
        "said": _said(trace),
        "refused": state.refused,
        "remarks": [on_page(one) for one in trace.remarks],
        "contradictions": list(pieces.contradictions),
        "board": _board(trace),
        "photos": [
            {**_photo(one, which), "size": bench.size(one.file), "pose": one.pose}
            for which, one in enumerate(trace.photos)
        ],
        "pads": [
            {
                "id": pad.id,
                "title": title(pad),
                "x": pad.x,
                "y": pad.y,
                "pin": f"{pad.part}.{pad.pin}" if pad.part and pad.pin else "",
                "node": pad.node or "",
                "on": nodes.get(pad.id, ""),
                "piece": piece_of[pad.id],
                "unsure": pad.id in state.unsure,
                "by": pad.origin,
            }
            for pad in trace.pads
        ],
        "holes": [{"x": one.x, "y": one.y, "diameter": one.diameter, "by": one.origin} for one in trace.holes],
        "bodies": [
            {"x": one.x, "y": one.y, "width": one.width, "height": one.height, "part": one.part or "", "by": one.origin}
            for one in trace.bodies
        ],
        "wires": [{"a": one.a, "b": one.b, "note": one.note} for one in trace.wires],
        "joins": shown_joins,
        "questions": _joins(questions(bench, pieces), pose),
        "pieces": sum(len(piece) > 1 for piece in pieces.pieces),
        "pins": _pins(item),
        "parts": [part.name for part in item.parts] if item else [],
        "nodes": _nodes(item),
    }


def paths(bench: Bench) -> dict[str, Any]:
    """The ways of the joins as far as they are known."""
    return {
        "paths_number": bench.paths_number,
        "paths": [{"a": a, "b": b, "points": points} for (a, b), points in bench.paths.items() if points],
    }


def on_page(remark: str) -> str:
    """A remark that was written for the command line, naming what the page has instead of the command's options."""
    for option, here in _HERE:
        remark = remark.replace(option, here)
    return remark


def _said(trace: Trace) -> dict[str, Any]:
    """The ruler and the holes that the user set, where they are, in pixels."""
    length = trace.said.length
    ruler = None if length is None else {"ends": length[:2], "length": length[2]}
    return {"width": trace.said.width, "ruler": ruler, "pairs": trace.said.clicked}


def _board(trace: Trace) -> dict[str, Any] | None:
    board = trace.board
    if board is None:
        return None
    return {"width": board.width, "height": board.height, "margin": MARGIN, "scale_from": board.scale_from}


def _photo(one: KeptPhoto, which: int) -> dict[str, Any]:
    mark = hashlib.sha256(repr((one.file, one.pose)).encode()).hexdigest()[:12]
    return {
        "file": one.file,
        "corners": one.corners,
        "by": one.corners_from,
        "mirrored": one.mirrored,
        "aligned_by": one.aligned_by,
        "residual": one.residual,
        "straight": f"straight/{which}?as={mark}",
    }


def _joins(joins: Sequence[Join], pose: Floats | None) -> list[dict[str, Any]]:
    if pose is None or not joins:
        return [_join(one, None) for one in joins]
    # All at once: one by one, three hundred joins take longer than all else that an answer takes.
    places = mapped(pose, [one.weakest or (0.0, 0.0) for one in joins]).round(2).tolist()
    return [_join(one, place if one.weakest else None) for one, place in zip(joins, places, strict=True)]


def _join(one: Join, weakest: Any) -> dict[str, Any]:
    return {
        "a": one.a,
        "b": one.b,
        "status": one.status,
        "score": round(one.score, 3),
        "why": one.why,
        "view": one.view,
        "weakest": weakest,
    }


def _kept_join(one: KeptJoin) -> dict[str, Any]:
    picture = one.evidence if isinstance(one.evidence, Picture) else None
    status = "accepted" if picture else "answered-yes" if one.joined else "answered-no"
    return {
        "a": one.a,
        "b": one.b,
        "status": status,
        "score": picture.score if picture else float(one.joined),
        "why": one.evidence.kind,
        "view": picture.view if picture else "",
        "weakest": picture.weakest if picture else None,
    }


def _pins(item: Item | None) -> list[str]:
    found = []
    for part in item.parts if item else ():
        kind = KINDS.get(part.kind)
        found += [f"{part.name}.{pin}" for pin in kind.pins] if kind else []
    return found


def _nodes(item: Item | None) -> list[str]:
    typed = {node for part in (item.parts if item else ()) for node in part.nodes.values()}
    return [*MAINS_NODES, *sorted(typed - set(MAINS_NODES))]


# Pictures -----------------------------------------------------------------------------------------------------------


def straight(folder: Path, trace: Trace, which: int) -> bytes:
    """A photo of the trace as the board is seen straight from above, laid over the copper side, as JPEG."""
    board, photo = trace.board, trace.photos[which]
    assert board is not None
    pose = Pose(to_board=np.array(photo.pose), width=board.width, height=board.height, scale_from="")
    area = (board.width + 2 * MARGIN) * (board.height + 2 * MARGIN)
    scale = min(pose.px_per_mm(), float(np.sqrt(_MOST_PIXELS / area)))
    return _jpeg(straightened(pixels(folder / photo.file), pose, px_per_mm=scale, margin=MARGIN).rgb, 88)


def preview(photo: NDArray[np.uint8], corners: tuple[tuple[float, float], ...], shrunk: float) -> bytes:
    """How the board looks straightened by these corners [pixels of the whole photo], small; `photo` is smaller by
    `shrunk`.
    """
    here = np.array(corners) * shrunk
    pose = pose_from_corners(here, (photo.shape[1], photo.shape[0]))
    scale = _PREVIEW / max(pose.width, pose.height)
    return _jpeg(straightened(photo, pose, px_per_mm=scale).rgb, 80)


def _jpeg(rgb: Any, quality: int) -> bytes:
    from PIL import Image

    held = BytesIO()
    Image.fromarray(rgb).save(held, "JPEG", quality=quality)
    return held.getvalue()


# Taking over --------------------------------------------------------------------------------------------------------


def offered(item: Item, trace: Trace, text: str, *, replace: bool) -> dict[str, Any]:
    """What the trace would change in the record: pins with their nodes before and after, and as lines of the file."""
    found = connections(item, trace, replace=replace)
    after = changed_text(item, text, found.changes)
    return {
        "changes": [_changed(one.part, one.before, one.after) for one in found.changes],
        "disagreements": list(found.disagreements),
        "missing": list(found.missing),
        "lines": shown(text, after, item.path.name).splitlines(),
    }


def found_for(item: Item, trace: Trace, *, replace: bool) -> Connections:
    """The connections that taking over would write."""
    return connections(item, trace, replace=replace)


def _changed(part: str, before: Mapping[str, str], after: Mapping[str, str]) -> dict[str, Any]:
    pins = [{"pin": pin, "before": before.get(pin, ""), "after": node} for pin, node in after.items()]
    return {"part": part, "pins": pins}
