"""Copper under solder mask: the bare pads stand out, the tracks are a second, fainter shade of the mask.

Where the plainest view shows pads that are all on their own, what it shows is bare metal and ink. That is taken out,
with a rim, and the rest looked at anew. Metal without a pad, and ink, are neither copper nor laminate afterwards; under
a pad's own metal and its rim the shade next to it goes on, so that a track reaches its pad.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lidoff.photos.needs import opencv
from lidoff.photos.views import MEASURES, Recipe, View, alike, measure_of, mixed, recipe, sharpened, view

if TYPE_CHECKING:
    from lidoff.photos.reading import Reading
    from lidoff.photos.views import Map, Mask

_RIM: Final = 0.3  # of a pad's radius
_LEAST_RIM: Final = 4.0  # pixels of the photo
_INK: Final = 2.6  # margin beyond which a pixel is neither shade of the mask
_STROKE: Final = 3.0  # pixels of the photo: finer than any stroke of lettering, and as broad as its blurred rim
_PAD: Final = 1.2  # times a pad's radius, about what was found of it
_LARGE: Final = 12  # times a pad's area
_LITTLE: Final = 0.15  # of the mask's area, up to which it may be ink
_ENOUGH: Final = 0.2  # of the area that has to be left
_SAME: Final = 0.98  # correlation, from which two measures are one
_ALONE: Final = 0.75  # share of pads joined to none, from which it is looked for


def looks_masked(metal: Reading) -> bool:
    """Whether a reading shows pads and nothing between them."""
    return metal.lone >= _ALONE and metal.unsure <= 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Shade:
    """How a view of one shade of the mask is made: the recipe within the mask, which shade is copper, and the layers,
    as maps of the size they were found at.
    """

    name: str
    recipe: Recipe
    sign: float
    layers: _Layers


def under_mask(colours: Map, area: Mask, metal: Reading, *, enlarged: float = 1.0) -> list[Shade]:
    """The shades of the mask, each with the one taken for copper and with the other.

    Each twice where there may be ink: what stands out from the mask once more, and is little, is taken out as well.
    """
    found = _taken_out(area, metal, enlarged)
    if found is None:
        return []
    shades = _shades(colours, found, area, enlarged, "under mask")
    within = found.rest & area
    plainest = view(recipe("", MEASURES["lightness"], colours, within), colours, within, enlarged=enlarged)
    for sign in (1.0, -1.0):
        ink = (plainest.plain * sign > 0) & found.rest
        share = float((ink & area).sum()) / float(within.sum())
        if 0.0 < share < _LITTLE:
            away = _grown(opencv(), ink, found.rim) & ~found.near_pad
            without = replace(found, rest=found.rest & ~away, other=found.other | away)
            if (without.rest & area).sum() >= _ENOUGH * area.sum():
                shades += _shades(colours, without, area, enlarged, "under mask and ink")
    return shades


def shade_view(shade: Shade, colours: Map, area: Mask, *, enlarged: float = 1.0) -> View:
    """The view of a shade, at the size of `colours`."""
    cv2 = opencv()
    layers = shade.layers.resized(area.shape)
    seen = view(shade.recipe, colours, layers.rest & area, enlarged=enlarged)
    seen = seen if shade.sign > 0 else seen.turned()
    plain = _carried_on(cv2, cv2.GaussianBlur(seen.plain, (0, 0), max(1.0, enlarged)), layers.rest)
    # The pads' own metal is copper whichever shade the tracks have.
    margin = np.where(layers.pads, np.float32(1.0), plain)
    return View(
        name=shade.name,
        plain=margin,
        sharp=sharpened(margin, seen.contrast, enlarged),
        contrast=seen.contrast,
        unknown=layers.other | (_inked(cv2, seen.plain, enlarged) & ~layers.near_pad),
        weights=seen.weights,
        middle=seen.middle,
        pads=layers.near_pad,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layers:
    """`rest` is mask alone; `pads` the bare metal that holds a pad, `near_pad` that and its rim, `other` what is
    neither, in the rim too where ink lies over it; `rim` is how far round [pixels].
    """

    rest: Mask
    pads: Mask
    near_pad: Mask
    other: Mask
    rim: float

    def resized(self, shape: tuple[int, ...]) -> _Layers:
        """The same layers at another size; the rim stays as it was."""
        if self.rest.shape == shape:
            return self
        cv2 = opencv()

        def to_size(mask: Mask) -> Mask:
            sized = cv2.resize(mask.astype(np.uint8), (shape[1], shape[0]), interpolation=cv2.INTER_NEAREST)
            return np.asarray(sized > 0)

        return _Layers(
            rest=to_size(self.rest),
            pads=to_size(self.pads),
            near_pad=to_size(self.near_pad),
            other=to_size(self.other),
            rim=self.rim,
        )


def _taken_out(area: Mask, metal: Reading, enlarged: float) -> _Layers | None:
    """The area without bare metal and ink; None where too little is left, or no pad is on metal."""
    cv2 = opencv()
    bare = (metal.view.plain > 0).astype(np.uint8)
    labels = metal.springs.labels
    _, piece, sizes, _ = cv2.connectedComponentsWithStats(bare, connectivity=4)
    with_pad = np.unique(piece[(labels > 0) & (bare > 0)])
    if not len(with_pad):
        return None
    radius = float(np.median(np.sqrt(sizes[with_pad, cv2.CC_STAT_AREA] / np.pi)))
    rim = max(_RIM * radius, _LEAST_RIM * enlarged)
    # A blob far larger than a pad is glare, or a bare plane: not a pad's own metal.
    small = np.flatnonzero(sizes[:, cv2.CC_STAT_AREA] <= _LARGE * np.pi * radius**2)
    pads = np.isin(piece, np.intersect1d(with_pad, small)) & (bare > 0)
    # Lettering that touches a pad is of one piece with it: only what lies about the pad's own place is its metal.
    pads &= _grown(cv2, labels > 0, _PAD * radius)
    around = _grown(cv2, bare > 0, rim)
    rest = ~around
    if (rest & area).sum() < _ENOUGH * area.sum():
        return None
    near_pad = _grown(cv2, pads | (labels > 0), rim)
    # A stroke across the rim hides where a track leaves its pad: what goes on beside it is not what lies under it.
    ink = cv2.morphologyEx((bare & ~pads).astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0
    over_rim = _grown(cv2, ink, rim) & near_pad & ~pads & (labels == 0)
    return _Layers(rest=rest, pads=pads, near_pad=near_pad, other=(around & ~near_pad) | over_rim, rim=rim)


def _shades(colours: Map, found: _Layers, area: Mask, enlarged: float, where: str) -> list[Shade]:
    within = found.rest & area
    shades: list[Shade] = []
    seen: list[Map] = []
    for name, weights in MEASURES.items():
        start = recipe(f"{name} {where}", weights, colours, within)
        first = view(start, colours, within, enlarged=enlarged)
        mix = mixed(colours, within, first.plain > 0)
        made = [start]
        if mix is not None:
            made.append(recipe(f"mix from {name} {where}", mix, colours, within))
        for one in made:
            measure = measure_of(colours, one.weights)
            if any(abs(alike(measure, before, within)) > _SAME for before in seen):
                continue
            seen.append(measure)
            shades.append(Shade(name=one.name, recipe=one, sign=1.0, layers=found))
            shades.append(Shade(name=f"{one.name}, turned", recipe=one, sign=-1.0, layers=found))
    return shades


def _inked(cv2: Any, plain: Map, enlarged: float) -> Mask:
    """What is neither shade of the mask, with its blurred rim; lines as fine as the mask's edge on copper left out."""
    far = (np.abs(plain) > _INK).astype(np.uint8)
    width = max(3, round(_STROKE * enlarged) | 1)
    far = cv2.morphologyEx(far, cv2.MORPH_OPEN, np.ones((width, width), np.uint8))
    return _grown(cv2, far > 0, max(2.0, _STROKE * enlarged))


def _grown(cv2: Any, mask: Mask, by: float) -> Mask:
    away = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5)
    return np.asarray(away <= by)


def _carried_on(cv2: Any, values: Map, known: Mask) -> Map:
    """`values` where known, elsewhere that of the nearest known pixel."""
    _, nearest = cv2.distanceTransformWithLabels(
        (~known).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    held = np.zeros(int(nearest.max()) + 1, np.float32)
    held[nearest[known]] = values[known]
    return np.asarray(held[nearest])
