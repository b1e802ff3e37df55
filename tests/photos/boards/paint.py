"""A photo of a planned board: materials, lamp, lens and camera, each with the faults that real ones have.

Painted flat at the plan's scale in linear light (albedo times lamp, plus what shines), laid into the photo by a
perspective, blurred, made noisy, and coded as JPEG.
"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from tests.photos.boards.plan import Plan, pieces, raster

Linear = NDArray[np.float32]

# Colours as sRGB; by eye from boards in the hand.
BASES: Final = {
    "paper": (176, 134, 84),
    "paper-dark": (128, 88, 52),
    "fr4": (190, 186, 128),
    "fr4-dark": (72, 84, 62),
    "composite": (212, 205, 180),
    "tape": (236, 236, 232),
}
METALS: Final = {
    "tin": (188, 190, 192),
    "copper": (205, 140, 108),
    "old-copper": (168, 106, 76),
    "gold": (218, 184, 104),
}
# Mask over laminate, mask over copper.
MASKS: Final = {
    "green": ((22, 74, 38), (44, 118, 56)),
    "green-light": ((60, 112, 62), (104, 160, 82)),
    "blue": ((18, 38, 92), (30, 72, 146)),
    "red": ((108, 18, 20), (158, 40, 34)),
    "black": ((22, 22, 24), (34, 34, 36)),
    "white": ((232, 232, 228), (214, 216, 208)),
    "yellowed": ((150, 128, 60), (196, 160, 80)),
}
GROUNDS: Final = {"mat": (52, 60, 58), "wood": (146, 104, 68), "paper": (226, 226, 222), "steel": (120, 124, 128)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """How a board is made and photographed."""

    name: str
    seed: int
    px_per_mm: float
    base: str = "fr4"
    metal: str = "copper"
    mask: str | None = None
    ground: str = "mat"
    letters: float = 0.0  # pieces of lettering per cm2
    letter_colour: tuple[int, int, int] = (238, 238, 234)
    solder: bool = False  # a blob on every pad
    lit_through: bool = False
    tilt: float = 0.0  # perspective: share by which the far side is shorter
    turn: float = 0.0  # degrees
    uneven: float = 0.3  # how much the light falls off across the board
    glare: float = 0.0  # strength of the lamp's reflection
    texture: float = 0.03  # of the laminate
    tarnish: float = 0.05  # of the metal
    blur: float = 0.7  # pixels
    noise: float = 0.01  # at mid grey, of full scale
    quality: int = 90
    burr: float = 0.01  # mm
    exposure: float = 1.0
    bodies: bool = False
    click: float = 0.12  # mm by which the pads are set off


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The finished photo with the pads as set (x, y) [pixels], the true pieces, and the copper under each pixel as the
    plan numbers it (0 for none).
    """

    rgb: NDArray[np.uint8]
    pads: dict[str, tuple[float, float]]
    pieces: tuple[frozenset[str], ...]
    jpeg: bytes
    copper: NDArray[np.int32]
    pose: NDArray[np.float64]  # from mm on the board to pixels

    def at(self, place: tuple[float, float]) -> tuple[float, float]:
        """Where a place on the board (x, y) [mm] lies in the photo [pixels]."""
        x, y = cv2.perspectiveTransform(np.array([[place]], np.float64), self.pose)[0, 0]
        return float(x), float(y)


def _linear(colour: tuple[int, int, int]) -> NDArray[np.float32]:
    return ((np.array(colour, np.float32) / 255) ** 2.2).astype(np.float32)


def _smooth(random: np.random.Generator, shape: tuple[int, int], size: float) -> Linear:
    """Noise of unit scatter with grains of `size` [pixels]."""
    step = max(1.0, size / 3)
    small = random.normal(size=(max(2, int(shape[0] / step) + 2), max(2, int(shape[1] / step) + 2)))
    grains = cv2.GaussianBlur(small.astype(np.float32), (0, 0), size / step / 2)
    grains = grains / max(float(grains.std()), 1e-6)
    return np.asarray(cv2.resize(grains, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC), np.float32)


def photograph(plan: Plan, shot: Shot) -> Shown:
    """The photo of the plan as the shot says."""
    random = np.random.default_rng(shot.seed)
    scale = max(24.0, shot.px_per_mm)
    drawn = raster(plan, scale, burr=shot.burr, seed=shot.seed + 1)
    truth = pieces(plan, drawn, scale)
    flat = _through(plan, shot, drawn, scale, random) if shot.lit_through else _lit(plan, shot, drawn, scale, random)
    pose, size = _pose(plan, shot, scale, random)
    ratio = scale / shot.px_per_mm
    if ratio > 1.2:
        flat = cv2.GaussianBlur(flat, (0, 0), 0.45 * ratio)
    photo = _ground(shot, size, random)
    warped = cv2.warpPerspective(flat, pose, size, flags=cv2.INTER_LINEAR)
    inside = cv2.warpPerspective(np.ones(flat.shape[:2], np.float32), pose, size, flags=cv2.INTER_LINEAR)
    shadow = cv2.GaussianBlur(np.roll(inside, (int(1.2 * shot.px_per_mm),) * 2, (0, 1)), (0, 0), shot.px_per_mm)
    photo = photo * (1 - 0.55 * shadow[..., None])
    photo = photo * (1 - inside[..., None]) + warped * inside[..., None]
    data, rgb = _camera(photo * shot.exposure, shot, random)
    off = {pad.name: random.normal(scale=shot.click / 2, size=2) for pad in plan.pads}
    corners = np.array([[(p.x + off[p.name][0]) * scale, (p.y + off[p.name][1]) * scale] for p in plan.pads])
    placed = cv2.perspectiveTransform(corners[None].astype(np.float64), pose)[0]
    pads = {pad.name: (float(x), float(y)) for pad, (x, y) in zip(plan.pads, placed, strict=True)}
    under = cv2.warpPerspective(drawn.astype(np.float32), pose, size, flags=cv2.INTER_NEAREST).astype(np.int32)
    return Shown(rgb=rgb, pads=pads, pieces=truth, jpeg=data, copper=under, pose=pose @ np.diag([scale, scale, 1.0]))


def _lit(plan: Plan, shot: Shot, drawn: NDArray[np.int32], scale: float, random: np.random.Generator) -> Linear:
    shape = drawn.shape
    copper = cv2.GaussianBlur((drawn > 0).astype(np.float32), (0, 0), 0.02 * scale)[..., None]
    open_ = _openings(plan, shape, scale) if shot.mask else np.ones(shape, np.float32)
    bare, metal = _bare(shot, shape, scale, random), _metal(shot, shape, scale, random)
    if shot.mask:
        over_base, over_copper = (_linear(colour) for colour in MASKS[shot.mask])
        ripple = 1 + 0.5 * shot.texture * _smooth(random, shape, 0.5 * scale)[..., None]
        masked = (over_base * (1 - copper) + over_copper * copper) * ripple
        # The mask is raised over the copper: its edge shows as a fine line, bright to the lamp and dark away from it.
        relief = cv2.GaussianBlur(copper[..., 0], (0, 0), 0.05 * scale)
        slope = cv2.Sobel(relief, cv2.CV_32F, 1, 0) + cv2.Sobel(relief, cv2.CV_32F, 0, 1)
        masked = masked * (1 + 0.25 * np.clip(slope * 0.05 * scale, -1, 1))[..., None]
        gap = open_[..., None]
        albedo = masked * (1 - gap) + (bare * (1 - copper) + metal * copper) * gap
    else:
        albedo = bare * (1 - copper) + metal * copper
    shines = (0.25 + 0.75 * copper[..., 0] * open_) if not shot.mask else np.full(shape, 0.7, np.float32)
    if shot.letters:
        _lettering(albedo, plan, shot, scale, random)
    gloss = np.zeros((*shape, 3), np.float32)
    if shot.solder:
        _solder(albedo, gloss, plan, scale, random)
    _holes(albedo, gloss, plan, shot, scale, random)
    if shot.bodies:
        _bodies(albedo, plan, scale, random)
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    angle = random.uniform(0, 2 * np.pi)
    along = (np.cos(angle) * (columns / shape[1] - 0.5) + np.sin(angle) * (rows / shape[0] - 0.5)) * 1.4
    lamp = np.clip(1 - shot.uneven * along - 0.3 * shot.uneven * along**2, 0.15, None)
    light = albedo * lamp[..., None] * 0.8 + gloss
    if shot.glare:
        x, y = random.uniform(0.2, 0.8, 2)
        wide = random.uniform(0.12, 0.3) * max(shape)
        spot = np.exp(-(((columns - x * shape[1]) ** 2 + (rows - y * shape[0]) ** 2) / (2 * wide**2)))
        uneven = 1 + 0.3 * _smooth(random, shape, 0.6 * scale)
        light = light + (shot.glare * spot * shines * np.clip(uneven, 0, None))[..., None]
    return np.asarray(light, np.float32)


def _through(plan: Plan, shot: Shot, drawn: NDArray[np.int32], scale: float, random: np.random.Generator) -> Linear:
    """Light from behind: laminate glows, copper stays dark, holes shine."""
    shape = drawn.shape
    spread = cv2.GaussianBlur((drawn > 0).astype(np.float32), (0, 0), 0.10 * scale)
    glow = _linear(BASES[shot.base]) * np.array([1.0, 0.8, 0.5], np.float32) * 1.3
    fibres = 1 + 2.0 * shot.texture * _smooth(random, shape, 0.4 * scale)
    light = glow * (np.clip(1 - 0.93 * spread, 0.05, 1) * np.clip(fibres, 0.2, None))[..., None]
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    away = ((columns / shape[1] - 0.5) ** 2 + (rows / shape[0] - 0.5) ** 2) * 2
    light = light * (1.1 - shot.uneven * away)[..., None]
    for pad in plan.pads:
        if pad.drill:
            at = (round(pad.x * scale * 16), round(pad.y * scale * 16))
            cv2.circle(light, at, round(pad.drill / 2 * scale * 16), (1.3, 1.3, 1.2), -1, cv2.LINE_AA, 4)
    return np.asarray(light, np.float32)


def _bare(shot: Shot, shape: tuple[int, int], scale: float, random: np.random.Generator) -> Linear:
    colour = _linear(BASES[shot.base])
    fibres = _smooth(random, shape, 0.25 * scale) + 0.7 * _smooth(random, shape, 1.5 * scale)
    if shot.base.startswith("fr4"):  # the weave shows
        rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
        fibres = fibres + 0.8 * np.sin(columns / scale * 2 * np.pi / 0.45) * np.sin(rows / scale * 2 * np.pi / 0.45)
    return colour * np.clip(1 + shot.texture * fibres, 0.2, None)[..., None]


def _metal(shot: Shot, shape: tuple[int, int], scale: float, random: np.random.Generator) -> Linear:
    colour = _linear(METALS[shot.metal])
    streaks = cv2.GaussianBlur(random.normal(size=shape).astype(np.float32), (0, 0), 1.2 * scale, sigmaY=0.03 * scale)
    streaks = streaks / max(float(streaks.std()), 1e-6)
    blotches = _smooth(random, shape, 2.0 * scale)
    shade = np.clip(1 + shot.tarnish * (0.6 * streaks + blotches), 0.25, None)
    dull = np.clip(blotches - 1.2, 0, 1)[..., None] * min(1.0, 6 * shot.tarnish)
    tired = colour * np.array([0.55, 0.5, 0.45], np.float32)
    return (colour * (1 - 0.5 * dull) + tired * 0.5 * dull) * shade[..., None]


def _openings(plan: Plan, shape: tuple[int, int], scale: float) -> NDArray[np.float32]:
    """Where the mask leaves the pads open."""
    open_ = np.zeros(shape, np.uint8)
    for pad in plan.pads:
        long, high = (pad.length - 0.1) * scale, (pad.width - 0.1) * scale
        x, y = pad.x * scale, pad.y * scale
        if pad.round_ended:
            half = max(0.0, (long - high) / 2)
            ends = np.round(np.array([[x - half, y], [x + half, y]]) * 16).astype(np.int32)
            cv2.polylines(open_, [ends], False, 1, max(1, round(high)), shift=4)
        else:
            cv2.rectangle(
                open_, (round(x - long / 2), round(y - high / 2)), (round(x + long / 2), round(y + high / 2)), 1, -1
            )
    return cv2.GaussianBlur(open_.astype(np.float32), (0, 0), max(0.5, 0.02 * scale))


def _lettering(albedo: Linear, plan: Plan, shot: Shot, scale: float, random: np.random.Generator) -> None:
    ink = _linear(shot.letter_colour)
    count = max(1, round(shot.letters * plan.width * plan.height / 100))
    drawn = np.zeros(albedo.shape[:2], np.uint8)
    for _ in range(count):
        text = random.choice(["R1", "C2", "D3", "LED4", "K-2", "+", "L", "N", "F1", "B07", "94V0", "RC"])
        at = (int(random.uniform(0, 0.9) * drawn.shape[1]), int(random.uniform(0.1, 1) * drawn.shape[0]))
        high = random.uniform(0.9, 1.6) * scale / 21
        cv2.putText(drawn, str(text), at, cv2.FONT_HERSHEY_SIMPLEX, high, 255, max(1, round(0.18 * scale)), cv2.LINE_AA)
    for pad in plan.pads:  # no ink on pads
        at = (round(pad.x * scale), round(pad.y * scale))
        cv2.circle(drawn, at, round((max(pad.length, pad.width) / 2 + 0.1) * scale), 0, -1)
    share = (cv2.GaussianBlur(drawn, (0, 0), 0.03 * scale).astype(np.float32) / 255 * 0.95)[..., None]
    albedo[:] = albedo * (1 - share) + ink * share


def _solder(albedo: Linear, gloss: Linear, plan: Plan, scale: float, random: np.random.Generator) -> None:
    """A blob on every pad: a dome that mirrors a dark room, a lamp and its own pad."""
    tin = _linear((176, 178, 182))
    for pad in plan.pads:
        radius = max(pad.width, 0.8) / 2 * random.uniform(0.8, 1.0) * scale
        x, y = pad.x * scale, pad.y * scale
        x0, x1 = int(max(0, x - radius - 1)), int(min(albedo.shape[1], x + radius + 2))
        y0, y1 = int(max(0, y - radius - 1)), int(min(albedo.shape[0], y + radius + 2))
        rows, columns = np.mgrid[y0:y1, x0:x1].astype(np.float32)
        u, v = (columns - x) / radius, (rows - y) / radius
        inside = np.clip((1 - np.hypot(u, v)) * radius, 0, 1)[..., None]
        lie = np.clip(u**2 + v**2, 0, 1)
        shade = 0.55 + 0.55 * (-(u + v) / 1.42) * np.sqrt(lie) + 0.15 * np.cos(6 * np.sqrt(lie))
        albedo[y0:y1, x0:x1] = albedo[y0:y1, x0:x1] * (1 - inside) + tin * np.clip(shade, 0.12, 1.2)[..., None] * inside
        lamp = np.exp(-((u + 0.35) ** 2 + (v + 0.4) ** 2) / (2 * 0.16**2))
        gloss[y0:y1, x0:x1] += (0.9 * lamp)[..., None] * inside
        if pad.drill:  # the lead stands out of the blob
            lead = np.clip((0.3 * pad.drill * scale - np.hypot(columns - x, rows - y)), 0, 1)[..., None]
            albedo[y0:y1, x0:x1] = albedo[y0:y1, x0:x1] * (1 - lead) + _linear((120, 118, 112)) * lead


def _holes(albedo: Linear, gloss: Linear, plan: Plan, shot: Shot, scale: float, random: np.random.Generator) -> None:
    if shot.solder:
        return
    dark = _linear(GROUNDS[shot.ground]) * 0.25
    for pad in plan.pads:
        if not pad.drill:
            continue
        off = random.normal(scale=0.05, size=2)  # drills wander
        x, y = (pad.x + off[0]) * scale, (pad.y + off[1]) * scale
        radius = pad.drill / 2 * scale
        x0, x1 = int(max(0, x - radius - 2)), int(min(albedo.shape[1], x + radius + 3))
        y0, y1 = int(max(0, y - radius - 2)), int(min(albedo.shape[0], y + radius + 3))
        rows, columns = np.mgrid[y0:y1, x0:x1].astype(np.float32)
        ragged = radius * (1 + 0.04 * np.sin(5 * np.arctan2(rows - y, columns - x) + random.uniform(0, 6)))
        inside = np.clip(ragged - np.hypot(columns - x, rows - y), 0, 1)[..., None]
        wall = np.clip((columns - x) / radius + 0.4, 0, 1)[..., None] * 0.5
        colour = dark * (1 - wall) + _linear(BASES[shot.base]) * 0.4 * wall
        albedo[y0:y1, x0:x1] = albedo[y0:y1, x0:x1] * (1 - inside) + colour * inside
        gloss[y0:y1, x0:x1] *= 1 - inside


def _bodies(albedo: Linear, plan: Plan, scale: float, random: np.random.Generator) -> None:
    """Parts that lie over the copper between two pads and leave the pads themselves in sight."""
    middles: list[NDArray[np.float64]] = []
    for one in plan.pads:
        others = sorted(plan.pads, key=lambda other: np.hypot(one.x - other.x, one.y - other.y))[1:4]
        other = others[int(random.integers(len(others)))]
        ends = np.array([[one.x, one.y], [other.x, other.y]])
        middle = ends.mean(axis=0)
        if any(np.hypot(*(middle - before)) < 4.0 for before in middles):
            continue
        middles.append(middle)
        body = middle + (ends - middle) * 0.62
        colour = _linear([(24, 24, 26), (196, 178, 140), (60, 92, 140)][int(random.integers(3))])
        at = np.round(body * scale * 16).astype(np.int32)
        cv2.polylines(albedo, [at], False, [float(c) for c in colour], round(1.6 * scale), shift=4)


def _pose(
    plan: Plan, shot: Shot, scale: float, random: np.random.Generator
) -> tuple[NDArray[np.float64], tuple[int, int]]:
    width, height = plan.width * shot.px_per_mm, plan.height * shot.px_per_mm
    square = np.array([[-width, -height], [width, -height], [width, height], [-width, height]]) / 2
    far = 1 - shot.tilt
    square[:2, 0] *= far
    square[:2, 1] *= 1 - shot.tilt / 3
    angle = np.deg2rad(shot.turn)
    turned = square @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    spare = 0.10 * max(width, height) + 1.5 * shot.px_per_mm
    turned = turned - turned.min(axis=0) + spare
    size = tuple(int(edge) for edge in np.ceil(turned.max(axis=0) + spare))
    source = np.array([[0, 0], [plan.width, 0], [plan.width, plan.height], [0, plan.height]]) * scale
    pose = cv2.getPerspectiveTransform(source.astype(np.float32), turned.astype(np.float32))
    return pose, (size[0], size[1])


def _ground(shot: Shot, size: tuple[int, int], random: np.random.Generator) -> Linear:
    shape = (size[1], size[0])
    if shot.lit_through:
        return np.full((*shape, 3), 0.01, np.float32)
    colour = _linear(GROUNDS[shot.ground])
    grain = 0.06 * _smooth(random, shape, 0.8 * shot.px_per_mm)
    if shot.ground == "wood":
        grain = grain + 0.15 * cv2.GaussianBlur(_smooth(random, shape, 0.3 * shot.px_per_mm), (0, 0), 25, sigmaY=0.8)
    return np.asarray(colour * np.clip(0.8 + grain, 0.1, None)[..., None], np.float32)


def _camera(light: Linear, shot: Shot, random: np.random.Generator) -> tuple[bytes, NDArray[np.uint8]]:
    seen = cv2.GaussianBlur(light, (0, 0), shot.blur) if shot.blur > 0 else light
    tint = 1 + random.normal(scale=0.04, size=3).astype(np.float32)
    seen = np.clip(seen * tint, 0, None)
    shape = seen.shape
    # Shot noise grows with the root of the light; the colour filter spreads it over two pixels.
    grain = cv2.GaussianBlur(random.normal(size=shape).astype(np.float32), (0, 0), 0.6) * 2.2
    seen = seen + grain * shot.noise * np.sqrt(np.clip(seen, 0.01, None) / 0.22) * 0.5
    coded = np.clip(seen, 0, 1) ** (1 / 2.2)
    sharp = coded + 0.4 * (coded - cv2.GaussianBlur(coded, (0, 0), 1.2))  # what every camera adds
    picture = Image.fromarray(np.round(np.clip(sharp, 0, 1) * 255).astype(np.uint8))
    held = BytesIO()
    picture.save(held, "JPEG", quality=shot.quality)
    return held.getvalue(), np.asarray(Image.open(BytesIO(held.getvalue())).convert("RGB"))
