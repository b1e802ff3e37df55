"""Copper under solder mask: the bare pads stand out, the tracks are a second, fainter shade of the mask.

Where the plainest view shows pads that are all on their own, what it shows is bare metal and ink. That is taken out,
with a rim, and the rest looked at anew. Metal without a pad, and ink, are neither copper nor laminate afterwards; under
a pad's own metal and its rim the shade next to it goes on, so that a track reaches its pad.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lidoff.photos.needs import opencv
from lidoff.photos.views import LIMIT, View, channels, mixed, sharpened, view

if TYPE_CHECKING:
    from lidoff.photos.reading import Reading
    from lidoff.photos.views import Map, Mask

_RIM: Final = 0.3  # of a pad's radius
_LEAST_RIM: Final = 2.5  # pixels of the photo
_INK: Final = 2.6  # margin beyond which a pixel is neither shade of the mask
_ALONE: Final = 0.75  # share of pads joined to none, from which it is looked for


def looks_masked(metal: Reading) -> bool:
    """Whether a reading shows pads and nothing between them."""
    return metal.lone >= _ALONE and metal.unsure <= 0.35


def under_mask(colours: Map, area: Mask, metal: Reading, *, enlarged: float = 1.0) -> list[View]:
    """Views of the shades of the mask, each with lighter taken for copper (turn them for the other way)."""
    cv2 = opencv()
    bare = (metal.view.plain > 0).astype(np.uint8)
    labels = metal.springs.labels
    _, piece, sizes, _ = cv2.connectedComponentsWithStats(bare, connectivity=4)
    with_pad = np.unique(piece[(labels > 0) & (bare > 0)])
    if not len(with_pad):
        return []
    radius = float(np.median(np.sqrt(sizes[with_pad, cv2.CC_STAT_AREA] / np.pi)))
    rim = max(_RIM * radius, _LEAST_RIM * enlarged)
    pads = np.isin(piece, with_pad) & (bare > 0)
    # A blob far larger than a pad is glare, or a bare plane: not a pad's own metal.
    large = np.isin(piece, np.flatnonzero(sizes[:, cv2.CC_STAT_AREA] > 12 * np.pi * radius**2)) & (bare > 0)
    pads &= ~large
    around = _grown(cv2, bare > 0, rim)
    rest = area & ~around
    if rest.sum() < 0.2 * area.sum():
        return []
    near_pad = _grown(cv2, pads | (labels > 0), rim)
    other = around & ~near_pad
    views = []
    seen: list[Map] = []
    for name, measure in channels(colours).items():
        start = view(name, measure, rest, enlarged=enlarged)
        mix = mixed(colours, rest, start.plain > 0)
        for label, one in ((name, measure), (f"mix from {name}", mix)):
            if one is None or any(abs(_alike(one, before, rest)) > 0.98 for before in seen):
                continue
            seen.append(one)
            shade = view(label, one, rest, enlarged=enlarged)
            plain = _carried_on(cv2, shade.plain, rest)
            plain[pads] = 1.0
            unknown = (other | (np.abs(shade.plain) > _INK)) & ~near_pad & area
            views.append(
                View(
                    name=f"{label} under mask",
                    plain=np.clip(plain, -LIMIT, LIMIT),
                    sharp=sharpened(plain, enlarged),
                    contrast=shade.contrast,
                    unknown=unknown,
                )
            )
    return views


def turned_under_mask(shade: View, enlarged: float, metal: Reading) -> View:
    """The same view with the darker shade taken for copper; the pads' own metal stays copper."""
    bare = metal.springs.labels > 0
    plain = np.where(bare, np.float32(1.0), -shade.plain)
    return View(
        name=f"{shade.name}, turned",
        plain=plain,
        sharp=sharpened(plain, enlarged),
        contrast=shade.contrast,
        unknown=shade.unknown,
    )


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


def _alike(one: Map, other: Map, area: Mask) -> float:
    a, b = one[area][::7], other[area][::7]
    if a.std() < 1e-6 or b.std() < 1e-6:
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])
