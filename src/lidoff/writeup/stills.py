"""Stills of a write-up, for slides and film: each one thing with large type, in a wide and a square form."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, Literal

from lidoff.account import Account, Knob, StateAccount, powers_shown, solved
from lidoff.circuit.groups.words import counted
from lidoff.drawing import (
    CycleView,
    DrawingError,
    Overlay,
    cycle_dial_svg,
    cycle_scene,
    rendered,
    schematic,
)
from lidoff.drawing.instant import SIX, CycleScene
from lidoff.drawing.still import Frame, cursor_svg, knob_still_svg, wave_still_svg
from lidoff.drawing.svg import fitted, text_width
from lidoff.quantity import engineering
from lidoff.writeup import typesetting
from lidoff.writeup.blocks import Comparison
from lidoff.writeup.chapters.findings import TONES
from lidoff.writeup.chapters.readings import ORDER, WORDS
from lidoff.writeup.chapters.readings import TONES as VERDICTS
from lidoff.writeup.chapters.summary import flowing, large, named
from lidoff.writeup.compose import compose
from lidoff.writeup.numbers import share, written
from lidoff.writeup.words import capital, in_state, state_name

Ground = Literal["paper", "transparent"]
TEMPLATE: Final = "still.typ"
SHAPES: Final[Mapping[str, tuple[int, int]]] = {"wide": (1920, 1080), "square": (1080, 1080)}
"""Width and height of each form [pixels]."""

ROOMS: Final[Mapping[str, tuple[float, float]]] = {"wide": (1744.0, 740.0), "square": (952.0, 680.0)}
"""What a picture has of each form, below the words [pixels]."""
_HEADLINE: Final = 54.0  # about the size of a headline, by which its length is reckoned
_WAVE_ROOM: Final = 0.3  # share of that which must be left for the wave to stand below a circuit
_MOST_ROWS: Final[Mapping[str, int]] = {"wide": 4, "square": 4}
_SIZES: Final = (13.0, 17.0, 22.0, 28.0)  # of a schematic's words, of which the one that reads largest is taken
_NOT_SAFE: Final = "Nothing here says that the item is safe."


def render_stills(account: Account, *, ground: str = "paper", comparison: Comparison | None = None) -> dict[str, bytes]:
    """Every still as a PNG by its name, "wide-02-cycle.png"; the same account gives the same bytes.

    What the account does not hold has no still. `ground` is "paper" or "transparent". Raises TypesettingError.
    """
    scene = _scene(account)
    document = compose(account)
    found: dict[str, bytes] = {}
    for shape, (width, height) in SHAPES.items():
        made = _made(account, shape, scene, comparison)
        data = {
            "title": document.title,
            "width": width,
            "height": height,
            "ground": ground,
            "made": f"Lidoff {account.version}",
            "stills": [
                {"kicker": fitted(document.title, 26.0, width - 180.0), "sub": "", "foot": "", "large": False, **still}
                for _, still in made
            ],
        }
        pages = typesetting.png(TEMPLATE, data)
        for number, ((name, _), page) in enumerate(zip(made, pages, strict=True), start=1):
            found[f"{shape}-{number:02d}-{name}.png"] = page
    return found


def _made(
    account: Account, shape: str, scene: CycleScene | None, comparison: Comparison | None
) -> list[tuple[str, dict[str, Any]]]:
    makers: list[tuple[str, Callable[[], dict[str, Any] | None]]] = [
        ("title", lambda: _title(account, shape)),
        ("cycle", lambda: _cycle(account, shape)),
        ("dial", lambda: _dial(account)),
        ("schematic", lambda: _schematic(account, shape)),
        *((f"instant-{angle:03.0f}", lambda angle=angle: _instant(account, scene, angle, shape)) for angle in SIX),
        # By number: what a part is called is the user's, and need not be fit for the name of a file.
        *((f"knob-{k}", lambda one=one: _knob(one, shape)) for k, one in enumerate(account.knobs, start=1)),
        ("readings", lambda: _readings(account, shape)),
        ("findings", lambda: _findings(account, shape)),
        ("before-after", lambda: _compared(comparison, shape)),
    ]
    made = [(name, maker()) for name, maker in makers]
    return [(name, still) for name, still in made if still is not None]


def _scene(account: Account) -> CycleScene | None:
    """The circuit of the main state with its currents, drawn with large words; None where it cannot be drawn."""
    main = account.main
    if main is None or main.view is None or account.drawings is None:
        return None
    solution = solved(account, main)
    try:
        return cycle_scene(solution.circuit, solution, hints=account.item.drawing, size=20.0, values=False)
    except DrawingError:
        return None


def computed(state: StateAccount) -> str:
    """The line at the foot of a picture: that it is computed, and in which state."""
    return f"Computed {in_state(state.name)}, on {engineering(state.supply.voltage, 'V', 3)}."


def _title(account: Account, shape: str) -> dict[str, Any] | None:
    main, room = account.main, ROOMS[shape][0]
    document = compose(account)
    figures = (
        []
        if main is None
        else [
            {"value": one.value, "unit": one.unit, "caption": one.caption, "origin": one.origin, "spread": one.spread}
            for one in large(main)
        ]
    )
    return {
        "kind": "figures",
        "kicker": "Opened, measured and worked out",
        "headline": fitted(document.title, _HEADLINE, 3.0 * room),
        "large": text_width(document.title, 1.5 * _HEADLINE) < 2.2 * room,
        "sub": "".join(run for run in document.subtitle if isinstance(run, str)),
        "figures": figures,
        "foot": _NOT_SAFE,
    }


def _view(account: Account) -> tuple[StateAccount, CycleView] | None:
    main = account.main
    return None if main is None or main.view is None else (main, main.view)


def _cycle(account: Account, shape: str) -> dict[str, Any] | None:
    found = _view(account)
    if found is None:
        return None
    main, view = found
    frame = (
        Frame(width=1744.0, height=700.0, size=36.0) if shape == "wide" else Frame(width=952.0, height=660.0, size=30.0)
    )
    flows = flowing(view)
    peak = main.figure("input.current_peak", "A")
    if flows is None:
        headline = "Current flows all the time" if view.current_peak > 0.0 else "No current flows"
    else:
        headline = f"Current flows for {share(flows)} of the time"
    if peak is not None and view.current_peak > 0.0:
        headline += f" and peaks at {written(peak)}"
    return {
        "kind": "picture",
        "headline": headline,
        "picture": typesetting.picture(wave_still_svg(view, frame)),
        "foot": computed(main),
    }


def _dial(account: Account) -> dict[str, Any] | None:
    found = _view(account)
    if found is None:
        return None
    main, view = found
    legend = [
        {
            "role": part.role,
            "pale": False,
            "words": f"{part.ref} {'conducts' if part.count == 1 else 'conduct'}" if part.spans else part.ref,
            "more": ", ".join(f"{a:.0f}° to {b:.0f}°" for a, b in part.spans[:2]) if part.spans else "not at all",
        }
        for part in view.parts[:3]
    ]
    if view.current_peak > 0.0:
        legend.append({"role": "current", "pale": False, "words": "current in at live", "more": "thick: much of it"})
        legend.append({"role": "current", "pale": True, "words": "current out at live", "more": "the other half-cycle"})
    if view.light is not None and float(view.light.max()) > 0.0:
        low = f"{100.0 * float(view.light.min()):.0f} % of its peak at the lowest"
        legend.append({"role": "light", "pale": True, "words": "light", "more": low})
    return {
        "kind": "legend",
        "headline": "One mains cycle, read like a clock",
        "picture": typesetting.picture(cycle_dial_svg(view, bare=True)),
        "legend": legend,
        "foot": computed(main),
    }


def _schematic(account: Account, shape: str) -> dict[str, Any] | None:
    """Drawn anew with words of several sizes; the one whose words come out largest on the still is taken."""
    found = _view(account)
    if found is None or account.drawings is None:
        return None
    main, _ = found
    circuit = solved(account, main).circuit
    groups = account.groups.best if account.groups is not None else ()
    room = ROOMS[shape]
    best: tuple[float, dict[str, Any]] | None = None
    for size in _SIZES:
        drawing = schematic(circuit, figures=powers_shown(main), groups=groups, hints=account.item.drawing, size=size)
        one = typesetting.picture(rendered(drawing, Overlay()))
        reads = size * min(room[0] / one["width"], room[1] / one["height"])
        if best is None or reads > best[0]:
            best = (reads, one)
    assert best is not None
    return {
        "kind": "picture",
        "headline": "How it is made",
        "picture": best[1],
        "foot": f"Drawn from the record. Watts computed {in_state(main.name)}.",
    }


def _instant(account: Account, scene: CycleScene | None, angle: float, shape: str) -> dict[str, Any] | None:
    found = _view(account)
    if found is None or scene is None:
        return None
    main, view = found
    time = angle / (360.0 * view.frequency)
    carrying = scene.carrying(time)
    if carrying:
        amps = engineering(carrying[0][1], "A", 2)
        names = [ref for ref, each in carrying if each > 0.5 * carrying[0][1]]
        shown = ", ".join(names[:5]) + (" …" if len(names) > 5 else "")
        sub = f"{amps} through {shown}"
    else:
        sub = "no current to speak of"
    room = ROOMS[shape]
    picture = typesetting.picture(scene.bare(time, volts=20.0, description=True))
    spare = room[1] - picture["height"] * room[0] / picture["width"]
    still = {
        "kind": "picture",
        "headline": f"At {angle:.0f}°, {1000.0 * time:.1f} ms: {sub}",
        "picture": picture,
        "foot": f"{computed(main)} Thick lines carry much current, faint ones next to none.",
    }
    if spare < _WAVE_ROOM * room[1]:
        return still
    # A flat circuit leaves room below it for where in the cycle this is.
    frame = Frame(width=room[0], height=min(spare - 60.0, 0.5 * room[1]), size=30.0 if shape == "wide" else 26.0)
    wave, cursor = (typesetting.picture(svg) for svg in (wave_still_svg(view, frame), cursor_svg(view, frame, angle)))
    return {**still, "kind": "pair", "wave": wave, "cursor": cursor}


def _knob(knob: Knob, shape: str) -> dict[str, Any] | None:
    turned = knob.turn
    ways = [[(stop.value, stop.brightness or 0.0) for stop in way] for way in (turned.up, turned.down)]
    if turned.dead_travel is None or max(light for way in ways for _, light in way) <= 0.0:
        return None
    frame = (
        Frame(width=1744.0, height=700.0, size=36.0) if shape == "wide" else Frame(width=952.0, height=640.0, size=30.0)
    )
    svg = knob_still_svg(ways[0], ways[1], frame, dead=turned.dead_travel)
    return {
        "kind": "picture",
        "headline": f"Over {share(turned.dead_travel)} of the way of {knob.ref} the light stays at its lowest",
        "picture": typesetting.picture(svg),
        "foot": f"Computed {in_state(knob.state)}, the knob turned up and down again.",
    }


def _readings(account: Account, shape: str) -> dict[str, Any] | None:
    judgement = account.judgement
    if judgement is None or not judgement.readings:
        return None
    ranked = sorted(judgement.readings, key=lambda one: ORDER.index(one.verdict))
    rows = [
        {
            "words": capital(named(one).removeprefix("the ")),
            "more": "" if one.state is None else state_name(one.state),
            "tag": WORDS.get(one.verdict, one.verdict),
            "tone": VERDICTS[one.verdict],
        }
        for one in ranked
    ]
    return {"kind": "rows", "headline": "Which reading to doubt?", **_cut(rows, shape, "Held against the circuit.")}


def _findings(account: Account, shape: str) -> dict[str, Any] | None:
    if account.findings is None:
        return None
    rows = [
        {"words": one.title, "more": one.action, "tag": one.risk.level, "tone": TONES[one.risk.level]}
        for one in account.findings.findings
    ]
    if not rows:
        return None
    foot = "What was not looked at could hurt as well."
    return {"kind": "rows", "headline": "What could hurt?", **_cut(rows, shape, foot)}


def _cut(rows: Sequence[Mapping[str, Any]], shape: str, foot: str) -> dict[str, Any]:
    """The first rows, and how many more there are."""
    most = _MOST_ROWS[shape]
    left = len(rows) - most
    more = f" {capital(counted(left))} more in the write-up." if left > 0 else ""
    return {"rows": list(rows[:most]), "foot": f"{foot}{more}"}


def _compared(comparison: Comparison | None, shape: str) -> dict[str, Any] | None:
    if comparison is None:
        return None
    pictures = [typesetting.picture(svg) for svg in (comparison.wide, comparison.narrow)]
    room = ROOMS[shape]

    def reads(one: Mapping[str, Any]) -> float:
        """How much of the room it fills."""
        scale = min(room[0] / one["width"], room[1] / one["height"])
        return float(scale**2 * one["width"] * one["height"])

    return {
        "kind": "picture",
        "headline": comparison.headline,
        "sub": comparison.words,
        "picture": max(pictures, key=reads),
        "foot": "Computed, before and after. For its maker's own bench; the cautions stand in the rework.",
    }
