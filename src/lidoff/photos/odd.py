"""What is taken for copper and does not have its colour: ink, glare, the body of a part.

A view tells two classes apart along one line through colour; what lies far off that line falls to one side or the other
all the same. So the copper's own colour is followed over the board, and pixels that are neither near it nor near the
colour that many pads share (solder on copper) are marked: no path through them is taken on the picture's word.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lidoff.photos.needs import opencv

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.bottleneck import Labels
    from lidoff.photos.views import Map, Mask, View

_TILES: Final = 12  # along the long side, in each of which the copper's colour is taken
_FEW: Final = 50  # pixels that tell no colour
_LIGHTER: Final = 10.0  # of L*, from which a pixel is lighter than copper, or four times its scatter
_OTHER_HUE: Final = 9.0  # of a* and b*, from which it has another colour, or four times the scatter
_DARKER: Final = 25.0  # of L*, from which it is darker than copper is in its own shadow
_LIT_THROUGH: Final = 35.0  # of L*, by which laminate is lighter than copper when the light comes from behind
_COPPER_HUE: Final = 8.0  # of a* and b*, from which a bare colour is copper's own
_SHARED: Final = 0.35  # share of the pads that makes a colour theirs
_NEAR: Final = 10.0  # of L*, a*, b*: colours of one kind of pad


def odd_colours(colours: Map, view: View, labels: Labels, area: Mask) -> Mask:
    """The pixels on copper's side of a view that do not look like it.

    Under a mask tracks have one shade, followed over the board. Bare ones have the colour of many pads, or copper's
    own; whatever their colour they are no lighter than metal is around there, nor nearly black. `labels` are the pads'
    springs. Where laminate is the lighter of the two, as with light from behind, what is light is laminate.
    """
    copper = view.plain > 0
    if not (copper & area).any():
        return np.zeros(copper.shape, bool)
    lightness, a, b = (np.ascontiguousarray(colours[..., at]) for at in range(3))
    if view.pads is not None:
        chosen = copper & area & ~view.pads
        if not chosen.any():
            return np.zeros(copper.shape, bool)
        odd = np.zeros(copper.shape, bool)
        for plane in (a, b):
            level, scatter = _followed(plane, chosen)
            odd |= np.abs(plane - level) > np.maximum(np.float32(_OTHER_HUE), 4 * scatter)
        return (odd | _off_light(lightness, chosen, ~copper & area)) & copper & ~view.pads
    laminate = ~copper & area
    if laminate.any() and np.median(lightness[laminate]) > np.median(lightness[copper & area]) + _LIT_THROUGH:
        # Copper against the light has no colour to go by, but its holes shine; without them it is dark bodies.
        shine = _middles(lightness, labels) > np.median(lightness[laminate]) - _LIGHTER
        return np.zeros(copper.shape, bool) if shine.mean() >= _SHARED else copper
    like = (a > _COPPER_HUE) & (b > _COPPER_HUE)
    for shared in _shared(pad_colours(colours, labels)):
        like |= (np.abs(a - shared[1]) < 1.5 * _NEAR) & (np.abs(b - shared[2]) < 1.5 * _NEAR)
    chosen = copper & area & like
    if not chosen.any():
        return copper
    return (~like | _off_light(lightness, chosen, ~copper & area)) & copper


def _middles(lightness: Map, labels: Labels) -> NDArray[np.float32]:
    """The lightness in the middle of each pad's spring, which is the hole where that is a ring."""
    rows, columns = np.nonzero(labels)
    number = labels[rows, columns]
    count = np.maximum(np.bincount(number), 1)
    names = np.unique(number)
    row = np.rint(np.bincount(number, rows)[names] / count[names]).astype(int)
    column = np.rint(np.bincount(number, columns)[names] / count[names]).astype(int)
    return np.asarray(lightness[row, column], np.float32)


def _off_light(lightness: Map, chosen: Mask, other: Mask) -> Mask:
    """What is clearly lighter than copper around there, or far darker."""
    level, scatter = _followed(lightness, chosen)
    off = lightness - level
    lighter, darker = (np.maximum(np.float32(least), 4 * scatter) for least in (_LIGHTER, _DARKER))
    odd = off < -darker
    if not other.any() or float(np.median(lightness[other])) <= float(np.median(lightness[chosen])):
        odd |= off > lighter
    return np.asarray(odd)


def odd_share(odd: Mask, view: View, area: Mask) -> float:
    """The share of a view's copper within the area that does not look like it."""
    copper = (view.plain > 0) & area
    return float((odd & copper).sum()) / max(1.0, float(copper.sum()))


def odd_pads(colours: Map, view: View, labels: Labels, area: Mask) -> frozenset[int]:
    """The numbers of the pads whose own place looks neither like copper around there nor like many other pads."""
    found = pad_colours(colours, labels)
    chosen = (view.plain > 0) & area
    if not chosen.any():
        return frozenset()
    usual = np.median(colours[chosen], axis=0)
    near = np.concatenate([_shared(found), usual[None]])
    return frozenset(
        number for number, colour in found.items() if (np.abs(near - colour)[:, 1:] >= 1.5 * _NEAR).any(axis=1).all()
    )


def pad_colours(colours: Map, labels: Labels) -> dict[int, NDArray[np.float32]]:
    """The median colour of each pad's spring, by the pad's number."""
    rows, columns = np.nonzero(labels)
    number = labels[rows, columns]
    order = np.argsort(number, kind="stable")
    parts = np.split(colours[rows[order], columns[order]], np.flatnonzero(np.diff(number[order])) + 1)
    names = np.unique(number)
    return {int(name) - 1: np.asarray(np.median(part, axis=0)) for name, part in zip(names, parts, strict=True)}


def _shared(found: dict[int, NDArray[np.float32]]) -> NDArray[np.float32]:
    """The colours that many pads share, as rows; the most shared first."""
    left = np.array(list(found.values()), np.float32).reshape(-1, 3)
    count = len(left)
    rows: list[NDArray[np.float32]] = []
    while len(left):
        near = (np.abs(left[:, None] - left[None]) < _NEAR).all(axis=2)
        best = int(near.sum(axis=1).argmax())
        if near[best].sum() < _SHARED * count:
            break
        rows.append(np.median(left[near[best]], axis=0).astype(np.float32))
        left = left[~near[best]]
    return np.array(rows, np.float32).reshape(-1, 3)


def _followed(plane: Map, chosen: Mask) -> tuple[Map, Map]:
    """The median of the chosen pixels and their scatter (by the median), followed over the board by tiles."""
    cv2: Any = opencv()
    height, width = plane.shape
    tile = max(16, round(max(height, width) / _TILES))
    rows, columns = max(1, -(-height // tile)), max(1, -(-width // tile))
    level = np.full((rows, columns), np.nan, np.float32)
    spread = np.full((rows, columns), np.nan, np.float32)
    for r in range(rows):
        for c in range(columns):
            here = (slice(r * tile, (r + 1) * tile), slice(c * tile, (c + 1) * tile))
            seen = plane[here][chosen[here]]
            if seen.size >= _FEW:
                level[r, c] = np.median(seen)
                spread[r, c] = 1.4826 * np.median(np.abs(seen - level[r, c]))
    if np.isnan(level).all():
        level[:], spread[:] = np.median(plane[chosen]), 0.0
    level[np.isnan(level)] = np.nanmedian(level)
    spread[np.isnan(spread)] = np.nanmedian(spread)
    size = (width, height)
    return (
        np.asarray(cv2.resize(level, size, interpolation=cv2.INTER_LINEAR)),
        np.asarray(cv2.resize(spread, size, interpolation=cv2.INTER_LINEAR)),
    )
