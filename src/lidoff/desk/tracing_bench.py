"""The tracing of one item while it is on the desk: the trace as kept, what the picture says, and the way back.

Everything that a hand does is saved in `trace.json` before it is answered. Reading the photos takes seconds and is done
apart: `due()` says what there is to do, `work()` does it, in a thread of its own. What is done by hand meanwhile stays.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np

from lidoff.desk.item_desk import ItemDesk
from lidoff.desk.tracing_acts import acted, told
from lidoff.desk.tracing_copper import Copper, Floats, Point, inverse, load, path, seen
from lidoff.desk.tracing_past import Past
from lidoff.desk.tracing_said import said
from lidoff.errors import LidoffError
from lidoff.photos import kept
from lidoff.photos.joins import Answer, AnswerError, Candidate, Join, Joins, propose
from lidoff.photos.kept import Trace, TraceError
from lidoff.photos.naming import Pieces, pieces_of
from lidoff.photos.picture import open_upright
from lidoff.photos.proposal import propose as propose_all
from lidoff.photos.proposal import read_copper, with_joins
from lidoff.photos.straighten import mapped
from lidoff.record import Item, Photo

Due = Literal["photos", "copper", "paths", ""]
Pair = tuple[str, str]
_STATES: Final = 200
_PATHS_AT_ONCE: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A trace with what the pictures said for it. `read_photos` and `read_copper` tell what they were last read for."""

    trace: Trace = field(default_factory=Trace)
    candidates: tuple[Candidate, ...] = ()
    refused: str | None = None
    unsure: tuple[str, ...] = ()
    read_photos: Any = None
    read_copper: Any = None


class Bench:
    """The tracing of one item. Every method may be called from any thread and may wait for the disk."""

    def __init__(self, desk: ItemDesk, confined: Callable[[Path, str], Path | None]) -> None:
        self.desk = desk
        self._confined = confined
        self._lock = threading.RLock()
        self._state = State()
        self._joins = propose((), ())
        self._past = Past(desk.folder)
        # What the pictures said at the newest of the states: going back to one of them reads nothing anew.
        self._states: dict[int, State] = {}
        self._stamp: Any = None
        self._copper: Copper | None = None
        self._paths: dict[Pair, tuple[Point, ...]] = {}
        self._failed: dict[str, Any] = {}
        self._sizes: dict[tuple[str, int], tuple[int, int]] = {}
        # A page that is open while the desk is started anew sees that what it is told is newer.
        self.number = time.time_ns() // 1_000_000
        """Goes up with everything that the page should show."""
        self.paths_number = 0
        self.working = ""
        self.trouble = ""

    # What stands ----------------------------------------------------------------------------------------------------

    @property
    def state(self) -> State:
        """What stands now."""
        return self._state

    @property
    def joins(self) -> Joins:
        """The joins as they stand, with what is open."""
        return self._joins

    @property
    def paths(self) -> Mapping[Pair, tuple[Point, ...]]:
        """The ways of joins along the copper [mm], as far as they have been found."""
        return dict(self._paths)

    @property
    def back(self) -> str | None:
        """What undoing would undo."""
        return self._past.back

    @property
    def forth(self) -> str | None:
        """What doing again would do."""
        return self._past.forth

    def item(self) -> Item | None:
        """The record, as far as it can be read."""
        return self.desk.now().item

    def photos(self) -> tuple[Photo, ...]:
        """The record's photos of the copper and of the other side that lie in its folder, copper first."""
        item = self.item()
        found = [one for one in (item.photos if item else ()) if one.shows in ("copper", "parts")]
        found = [one for one in found if self._confined(self.desk.folder, one.file) is not None]
        return tuple(sorted(found, key=lambda one: one.shows != "copper"))

    def size(self, file: str) -> tuple[int, int]:
        """A photo's width and height as it stands upright [pixels]."""
        path_ = self._confined(self.desk.folder, file)
        if path_ is None:
            return 1, 1
        mark = (file, path_.stat().st_mtime_ns)
        if mark not in self._sizes:
            self._sizes[mark] = open_upright(path_, longest=None).size
        return self._sizes[mark]

    def opened(self) -> None:
        """Looks whether the trace was changed elsewhere, and takes it as it is then. Raises TraceError."""
        with self._lock:
            stamp = self._file_stamp()
            if stamp == self._stamp:
                return
            trace = kept.read(self.desk.folder)
            first = self._stamp is None
            self._stamp = stamp
            if trace != self._state.trace:
                self._settle(self._restored(trace, stamp[0]) if first else replace(self._state, trace=trace))
            self._past.found(trace)

    # Acts -----------------------------------------------------------------------------------------------------------

    def act(self, asked: Mapping[str, Any]) -> None:
        """Does what the page asks for, and keeps it. Raises LidoffError, and then nothing has changed."""
        with self._lock:
            self.opened()
            if asked.get("do") in ("undo", "redo"):
                self._step(forth=asked["do"] == "redo")
                return
            before = self._state
            if asked.get("do") == "again":
                self._failed.clear()
                self._keep(replace(before, read_photos=None))
                return
            files = frozenset(one.file for one in self.photos())
            trace, what = said(before.trace, files, asked) or acted(before.trace, self.item(), asked)
            after = replace(before, trace=trace, candidates=_still(before.candidates, before.trace, trace))
            joins, after = _settled(after)
            entry = self._past.coming(before.trace, after.trace, what)
            self._states[self._past.at] = before
            self._save(joins, after)
            self._past.stands(entry)
            self._states[entry.number] = after
            self._states = dict(sorted(self._states.items())[-_STATES:])

    def _step(self, *, forth: bool) -> None:
        """Back to the state before, or forth to the one after."""
        self._states[self._past.at] = self._state
        entry, trace = self._past.step(forth=forth)
        known = self._states.get(entry.number)
        if known is None or known.trace != trace:
            known = self._restored(trace, int(entry.time * 1e9))
        self._save(*_settled(known))
        self._past.stands(entry)

    def _restored(self, trace: Trace, when: int) -> State:
        """The state of a trace that was saved at an instant [ns since 1970], as far as it still tells of the photos."""
        state = State(trace=trace)
        if trace.board is None or not trace.photos or trace.said.unread:
            return state
        key = self._photos_key(state)
        known, here = {one.file for one in trace.photos}, {one[0] for one in key[0]}
        if known <= here and all(one[3] <= when for one in key[0]):
            state = replace(state, read_photos=key)
        return state

    def _keep(self, state: State) -> None:
        """Makes a state the one that stands with what the pictures say, which is nothing to be undone."""
        self._save(*_settled(state))
        self._past.grown(self._state.trace)

    def _save(self, joins: Joins, state: State) -> None:
        """Saves a state's trace, and makes it the one that stands."""
        if state.trace != self._state.trace:
            kept.write_whole(self.desk.folder / kept.NAME, self._past.text(state.trace).encode())
            self._stamp = self._file_stamp()
        self._state, self._joins = state, joins
        self.number += 1

    def _settle(self, state: State) -> None:
        """The same for a trace that lies in the file already and may contradict itself."""
        try:
            self._joins, self._state = _settled(state)
        except AnswerError as error:
            self._joins, self._state = propose([pad.id for pad in state.trace.pads], ()), state
            self.trouble = str(error)
        self.number += 1

    # Reading the photos ---------------------------------------------------------------------------------------------

    def due(self) -> Due:
        """What there is to do in the background."""
        with self._lock:
            state = self._state
            photos = self._photos_key(state)
            if not any(one[1] == "copper" for one in photos[0]):
                return ""
            if photos not in (state.read_photos, self._failed.get("photos")):
                return "photos"
            if state.trace.board is None or not state.trace.photos:
                return ""
            copper = _copper_key(state.trace)
            if copper not in (state.read_copper, self._failed.get("copper")) and len(state.trace.pads) > 1:
                return "copper"
            return "paths" if self._without_path() else ""

    def work(self) -> None:
        """Does the next thing that is due; what cannot be done is told as `trouble`."""
        due = self.due()
        doing = {"photos": self._read_photos, "copper": self._read_copper, "paths": self._find_paths}.get(due)
        if doing is None:
            return
        try:
            doing()
        except LidoffError as error:
            self._say("", str(error))
            with self._lock:
                if due == "paths":
                    self._paths.update(dict.fromkeys(self._without_path(), ()))
                else:
                    key = self._photos_key(self._state) if due == "photos" else _copper_key(self._state.trace)
                    self._failed[due] = key
        finally:
            if self.working and due != "paths":
                self._say("", self.trouble)

    def _read_photos(self) -> None:
        with self._lock:
            state, key, item = self._state, self._photos_key(self._state), self.item()
        if item is None:
            raise TraceError("The record cannot be read; mend it first.")
        self._say("Finding the board, its holes and its pads …")

        def tell(trace: Trace, to_board: Floats) -> Trace:
            self._say("Reading the copper …")
            return _moved(trace, state.trace, to_board)

        proposal = propose_all(item, state.trace, tell=tell)
        copper = self._loaded(proposal.trace)
        with self._lock:
            if self._state.trace is not state.trace or self._photos_key(self._state) != key:
                return  # somebody worked on meanwhile: it is due again
            traced = proposal.traced
            self._copper = seen(copper, traced)
            self._forget_paths()
            self._keep(
                State(
                    trace=proposal.trace,
                    candidates=traced.joins.candidates if traced else (),
                    refused=traced.refused if traced else None,
                    unsure=traced.unsure if traced else (),
                    read_photos=(key[0], *_said_key(proposal.trace)),
                    read_copper=_copper_key(proposal.trace) if traced else None,
                )
            )
            self._say("", "")

    def _read_copper(self) -> None:
        with self._lock:
            trace = self._state.trace
        key = _copper_key(trace)
        self._say("Reading the copper …")
        copper = self._loaded(trace)
        traced = read_copper(copper.rgb, copper.pose, trace)
        with self._lock:
            if _copper_key(self._state.trace) != key:
                return
            self._copper = seen(copper, traced)
            self._forget_paths()
            self._keep(
                replace(
                    self._state,
                    candidates=traced.joins.candidates,
                    refused=traced.refused,
                    unsure=traced.unsure,
                    read_copper=key,
                )
            )
            self._say("", "")

    def _find_paths(self) -> None:
        with self._lock:
            pairs, trace = self._without_path(), self._state.trace
            weakest = {(one.a, one.b): one.weakest for one in self._joins.joins}
        copper = self._loaded(trace)
        self._say("Following the tracks …", self.trouble)
        for start in range(0, len(pairs), _PATHS_AT_ONCE):
            found = {}
            for pair in pairs[start : start + _PATHS_AT_ONCE]:
                found[pair] = _way(copper, trace, pair, weakest.get(pair))
            with self._lock:
                if self._copper is not copper or self._state.trace.pads != trace.pads:
                    break
                self._paths.update(found)
                self.paths_number += 1
        self._say("", self.trouble)

    def followed(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """The way along the copper through clicked points [mm]. Raises LidoffError."""
        with self._lock:
            trace = self._state.trace
        if not trace.photos:
            raise TraceError("There is no photo of the copper yet.")
        return path(self._loaded(trace), points, clicked=True)

    def _loaded(self, trace: Trace) -> Copper:
        with self._lock:
            here = self._copper
        if here is not None and np.array_equal(here.pose, np.array(trace.photos[0].pose)):
            return here
        files = self._copper_files(trace.photos[0].file)
        copper = load(self.desk.folder, files, trace.photos[0].pose)
        with self._lock:
            self._copper = copper
        return copper

    def _copper_files(self, first: str) -> list[str]:
        photos = [one for one in self.photos() if one.shows == "copper"]
        side = next((one.side for one in photos if one.file == first), None)
        others = [one.file for one in photos if one.side == side and one.file != first]
        if self._confined(self.desk.folder, first) is None:
            raise TraceError(f"{first} is no longer in this record's folder.")
        return [first, *others]

    def _without_path(self) -> list[Pair]:
        """The joins whose way is not known, doubtful ones first."""
        order = {"doubtful": 0, "accepted": 1, "answered-yes": 2}
        wanted = [one for one in self._joins.joins if one.status in order and (one.a, one.b) not in self._paths]
        return [(one.a, one.b) for one in sorted(wanted, key=lambda one: order[one.status])]

    def _forget_paths(self) -> None:
        self._paths.clear()
        self.paths_number += 1

    def _say(self, working: str, trouble: str = "") -> None:
        with self._lock:
            self.working, self.trouble = working, trouble
            self.number += 1

    # Keys -----------------------------------------------------------------------------------------------------------

    def _photos_key(self, state: State) -> tuple[Any, ...]:
        photos = []
        for one in self.photos():
            try:
                at = (self.desk.folder / one.file).stat()
            except OSError:
                continue
            photos.append((one.file, one.shows, one.side, at.st_mtime_ns, at.st_size))
        return tuple(photos), *_said_key(state.trace)

    def _file_stamp(self) -> tuple[int, ...]:
        try:
            at = (self.desk.folder / kept.NAME).stat()
        except OSError:
            return (0,)
        return at.st_mtime_ns, at.st_size, at.st_ino


def _settled(state: State) -> tuple[Joins, State]:
    """The joins of a state, and the state with them in its trace. Raises AnswerError."""
    trace = state.trace
    answers = [Answer(a=one.a, b=one.b, joined=one.joined, by=one.evidence.kind) for one in told(trace)]
    joins = propose([pad.id for pad in trace.pads], state.candidates, answers)
    # Until the copper has been read in this sitting, what was read in an earlier one stands.
    if state.read_copper is not None and trace.photos:
        trace = with_joins(trace, joins, trace.photos[0].file)
    return joins, replace(state, trace=trace)


def questions(bench: Bench, pieces: Pieces | None = None) -> tuple[Join, ...]:
    """What is asked, weakest first: the doubtful joins but those that a wire has settled.

    `pieces` are those of the trace, where they have been found already.
    """
    joins = bench.joins
    found = pieces_of(bench.state.trace) if pieces is None else pieces
    piece_of = {name: n for n, piece in enumerate(found.pieces) for name in piece}
    return tuple(one for one in joins.doubtful if piece_of.get(one.a) != piece_of.get(one.b))


def _still(candidates: tuple[Candidate, ...], before: Trace, after: Trace) -> tuple[Candidate, ...]:
    """What the picture says of pads that are where they were."""
    if before.pads == after.pads:
        return candidates
    where = {pad.id: (pad.x, pad.y) for pad in before.pads}
    same = {pad.id for pad in after.pads if where.get(pad.id) == (pad.x, pad.y)}
    return tuple(one for one in candidates if one.a in same and one.b in same)


def _said_key(trace: Trace) -> tuple[Any, ...]:
    """What was said of the photos that they have to be read for."""
    set_ = tuple((one.file, one.corners) for one in trace.photos if one.corners_from == "user")
    return trace.said.width, trace.said.length, trace.said.clicked, set_


def _copper_key(trace: Trace) -> tuple[Any, ...]:
    pads = tuple((pad.id, pad.x, pad.y) for pad in trace.pads)
    bodies = tuple((one.x, one.y, one.width, one.height) for one in trace.bodies)
    return pads, bodies, trace.photos[0].pose if trace.photos else None


def _moved(trace: Trace, before: Trace, to_board: Floats) -> Trace:
    """The trace with what the user set on the board kept where it stands in the copper photo."""
    if not before.photos or not trace.photos or before.photos[0].file != trace.photos[0].file:
        return trace
    across = np.asarray(to_board) @ inverse(np.array(before.photos[0].pose))
    if np.allclose(across / across[2, 2], np.eye(3), atol=1e-6):
        return trace

    def at(x: float, y: float) -> tuple[float, float]:
        ((u, v),) = mapped(across, [(x, y)])
        return round(float(u), 3), round(float(v), 3)

    # Pads that were proposed anew stand where they belong already, whatever they are called.
    known = {pad.id for pad in before.pads} if trace.pads == before.pads else set()
    pads = []
    for pad in trace.pads:
        x, y = at(pad.x, pad.y) if pad.id in known else (pad.x, pad.y)
        pads.append(pad.model_copy(update={"x": x, "y": y}))
    holes = []
    for hole in trace.holes:
        x, y = at(hole.x, hole.y) if hole.origin == "user" else (hole.x, hole.y)
        holes.append(hole.model_copy(update={"x": x, "y": y}))
    bodies = []
    for body in trace.bodies:
        if body.origin == "user":
            (x, y), (u, v) = at(body.x, body.y), at(body.x + body.width, body.y + body.height)
            box = {"x": min(x, u), "y": min(y, v), "width": max(0.1, abs(u - x)), "height": max(0.1, abs(v - y))}
            bodies.append(body.model_copy(update=box))
        else:
            bodies.append(body)
    return trace.model_copy(update={"pads": tuple(pads), "holes": tuple(holes), "bodies": tuple(bodies)})


def _way(copper: Copper, trace: Trace, pair: Pair, weakest: Point | None) -> tuple[Point, ...]:
    """The way of a join from pad to pad by its weakest point."""
    a, b = trace.pad(pair[0]), trace.pad(pair[1])
    if a is None or b is None:
        return ()
    points = [(a.x, a.y), (b.x, b.y)]
    if weakest is not None:
        ((x, y),) = mapped(copper.pose, [weakest])
        points.insert(1, (float(x), float(y)))
    return path(copper, points, clicked=copper.margins is None)
