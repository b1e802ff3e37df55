"""Draws the two photographs of the demo's night light: `python -m tools.demo_photos` in the checkout.

Painted flat in linear light, laid into the picture by a camera that stands at a slant, lit from one side, blurred, made
noisy, and coded as JPEG. The pictures lie in the package as files: drawing them takes OpenCV, which a plain `lidoff
demo` must not need, and they weigh less than half a megabyte together.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from tests.photos.scene import Board, Camera
from tools import demo_board as board

Linear = NDArray[np.float32]
Colour = tuple[int, int, int]

FOLDER: Final = Path(__file__).parent.parent / "src/lidoff/demo/records/night-light/photos"
SCALE: Final = 28  # pixels per mm, drawn flat
EDGE: Final = 20  # mm of bench round the board
SIZE: Final = (1400, 1050)
QUALITY: Final = 84
COPPER: Final = Camera(tilt=(9.0, -7.0, 4.0), away=50.0, size=SIZE)
PARTS: Final = Camera(tilt=(-8.0, 6.0, -3.0), away=51.0, size=SIZE)

# Colours as sRGB, by eye from boards in the hand.
BENCH, LAMINATE, TIN = (60, 70, 82), (150, 108, 64), (186, 188, 188)
SOLDER, LEAD, DARK, INK = (178, 180, 184), (122, 120, 114), (14, 14, 15), (244, 240, 226)
BANDS: Final[dict[str, Colour]] = {
    "brown": (104, 58, 30), "black": (20, 20, 20), "green": (32, 112, 62), "gold": (186, 148, 60),
}  # fmt: skip


def linear(colour: Colour) -> NDArray[np.float32]:
    """A colour as light, from 0 to 1."""
    return ((np.array(colour, np.float32) / 255) ** 2.2).astype(np.float32)


def smooth(random: np.random.Generator, shape: tuple[int, int], size: float) -> Linear:
    """Unevenness of unit scatter, `size` mm to a grain."""
    step = max(1.0, size * SCALE / 3)
    small = random.normal(size=(int(shape[0] / step) + 3, int(shape[1] / step) + 3)).astype(np.float32)
    grains = cv2.GaussianBlur(small, (0, 0), 1.5)
    return np.asarray(cv2.resize(grains / grains.std(), shape[::-1], interpolation=cv2.INTER_CUBIC), np.float32)


class Flat:
    """The bench from straight above in linear light, the board on it, x and y [mm] from the board's corner as seen."""

    def __init__(self, seed: int) -> None:
        self.random = np.random.default_rng(seed)
        shape = (round((board.HEIGHT + 2 * EDGE) * SCALE), round((board.WIDTH + 2 * EDGE) * SCALE))
        grain = 0.05 * smooth(self.random, shape, 0.4) + 0.05 * smooth(self.random, shape, 6.0)
        self.light: Linear = linear(BENCH) * (1 + grain)[..., None]
        solid = self._mask()
        corners = self._px([(0, 0), (board.WIDTH, board.HEIGHT)])
        cv2.rectangle(solid, corners[0].tolist(), corners[1].tolist(), 255, -1, cv2.LINE_AA, 4)
        shadow = np.roll(cv2.GaussianBlur(solid, (0, 0), 0.5 * SCALE), (round(0.7 * SCALE),) * 2, (0, 1))
        self.light *= 1 - 0.5 * shadow[..., None].astype(np.float32) / 255
        fibres = 0.02 * smooth(self.random, shape, 0.3) + 0.03 * smooth(self.random, shape, 3.0)
        self._lay(solid, linear(LAMINATE) * (1 + fibres)[..., None])

    def _mask(self) -> NDArray[np.uint8]:
        wide, high = round((board.WIDTH + 2 * EDGE) * SCALE), round((board.HEIGHT + 2 * EDGE) * SCALE)
        return np.zeros((high, wide), np.uint8)

    def _px(self, places: Sequence[tuple[float, float]]) -> NDArray[np.int32]:
        """Sixteenths of a pixel, as OpenCV draws them."""
        return np.round((np.array(places) + EDGE) * SCALE * 16 - 8).astype(np.int32)

    def _lay(self, mask: NDArray[np.uint8], colour: Any) -> None:
        x, y, wide, high = cv2.boundingRect(mask)
        here = slice(y, y + high), slice(x, x + wide)
        share = mask[here][..., None].astype(np.float32) / 255
        over = np.asarray(colour, np.float32)
        self.light[here] = self.light[here] * (1 - share) + (over if over.ndim == 1 else over[here]) * share

    def line(self, places: Sequence[tuple[float, float]], width: float, colour: Any) -> None:
        """A track or a lead, `width` mm wide."""
        mask = self._mask()
        cv2.polylines(mask, [self._px(places)], False, 255, max(1, round(width * SCALE)), cv2.LINE_AA, 4)
        self._lay(mask, colour)

    def disc(self, at: tuple[float, float], diameter: float, colour: Any) -> None:
        """A pad, or what is round."""
        mask = self._mask()
        radius = round(diameter / 2 * SCALE * 16)
        cv2.circle(mask, self._px([at])[0].tolist(), radius, 255, -1, cv2.LINE_AA, 4)
        self._lay(mask, colour)

    def hole(self, at: tuple[float, float], diameter: float) -> None:
        """Dark, with a sliver of its wall in the light."""
        self.disc(at, diameter, linear(LAMINATE) * 0.5)
        self.disc((at[0] + 0.02 * diameter, at[1] + 0.02 * diameter), 0.94 * diameter, linear(DARK))

    def box(
        self, corner: tuple[float, float], size: tuple[float, float], colour: Any, round_: float, dome: float
    ) -> None:
        """A body: rounded, its shadow beside it, lighter along its ridge by `dome` where it lies along x or y."""
        mask = self._mask()
        (x0, y0), (x1, y1) = self._px([(corner[0] + round_, corner[1] + round_),
                                       (corner[0] + size[0] - round_, corner[1] + size[1] - round_)])  # fmt: skip
        if round_ > 0:
            outline = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], np.int32)
            cv2.fillPoly(mask, [outline], 255, cv2.LINE_AA, 4)
            cv2.polylines(mask, [outline], True, 255, max(1, round(2 * round_ * SCALE)), cv2.LINE_AA, 4)
        else:
            cv2.rectangle(mask, (int(x0), int(y0)), (int(x1), int(y1)), 255, -1, cv2.LINE_AA, 4)
        shadow = np.roll(cv2.GaussianBlur(mask, (0, 0), 0.35 * SCALE), (round(0.8 * SCALE),) * 2, (0, 1))
        self.light *= 1 - 0.55 * shadow[..., None].astype(np.float32) / 255
        rows, columns = np.mgrid[: mask.shape[0], : mask.shape[1]].astype(np.float32)
        along_x = size[0] >= size[1]
        middle = (corner[1] + size[1] / 2, size[1]) if along_x else (corner[0] + size[0] / 2, size[0])
        across = ((rows if along_x else columns) / SCALE - EDGE - middle[0]) / (middle[1] / 2)
        shade = 1 + dome * (0.6 - across**2 - 0.4 * across)
        self._lay(mask, np.asarray(colour, np.float32) * np.clip(shade, 0.15, None)[..., None])

    def text(self, words: str, at: tuple[float, float], high: float, colour: Colour, *, turned: bool = False) -> None:
        """Print with its middle at a place, `high` mm from line to line."""
        font = ImageFont.load_default(size=high * SCALE)
        lines = words.split("\n")
        wide = round(max(font.getlength(one) for one in lines)) + 8
        slip = Image.new("L", (wide, round(1.25 * high * SCALE * len(lines)) + 8))
        draw = ImageDraw.Draw(slip)
        for number, one in enumerate(lines):
            draw.text((wide / 2, (number + 0.5) * 1.25 * high * SCALE + 4), one, 255, font=font, anchor="mm")
        drawn = np.asarray(slip.rotate(90, expand=True) if turned else slip)
        mask = self._mask()
        x, y = round((at[0] + EDGE) * SCALE - drawn.shape[1] / 2), round((at[1] + EDGE) * SCALE - drawn.shape[0] / 2)
        mask[y : y + drawn.shape[0], x : x + drawn.shape[1]] = drawn
        self._lay((cv2.GaussianBlur(mask, (0, 0), 0.02 * SCALE) * 0.92).astype(np.uint8), linear(colour))


def copper_side() -> Linear:
    """Tracks, pads, joints with their leads, and the open holes of the wires."""
    flat = Flat(11)
    shape = flat.light.shape[:2]
    dull = 1 + 0.04 * smooth(flat.random, shape, 2.5) + 0.02 * smooth(flat.random, shape, 0.3)
    metal = linear(TIN) * np.clip(dull, 0.5, 1.3)[..., None]
    for track in board.TRACKS:
        flat.line(track, board.TRACK, metal)
    for at in (*board.PINS.values(), *board.WIRES.values()):
        flat.disc(at, board.PAD, metal)
    for at in board.WIRES.values():
        flat.hole(at, board.WIRE_HOLE)
    for x, y, diameter in board.HOLES:
        flat.hole((x, y), diameter)
    for at in board.PINS.values():
        _joint(flat, at)
    return flat.light


def _joint(flat: Flat, at: tuple[float, float]) -> None:
    """A dome of solder that mirrors a dark room and one lamp, the clipped lead in its middle."""
    radius = board.PAD / 2 * float(flat.random.uniform(0.82, 0.95))
    rows, columns = np.mgrid[: flat.light.shape[0], : flat.light.shape[1]].astype(np.float32)
    u, v = ((columns + 0.5) / SCALE - EDGE - at[0]) / radius, ((rows + 0.5) / SCALE - EDGE - at[1]) / radius
    lie = np.clip(u**2 + v**2, 0, 1)
    shade = 0.72 - 0.42 * (u + v) / 1.42 * np.sqrt(lie) - 0.25 * lie**3
    lamp = 1.3 * np.exp(-((u + 0.38) ** 2 + (v + 0.42) ** 2) / (2 * 0.15**2))
    mask = (np.clip((1 - np.hypot(u, v)) * radius * SCALE, 0, 1) * 255).astype(np.uint8)
    flat._lay(mask, linear(SOLDER) * np.clip(shade, 0.1, None)[..., None] + lamp[..., None])
    flat.disc((at[0] + 0.08, at[1] + 0.08), 0.75, linear(LEAD))


def parts_side() -> Linear:
    """The same board from the other side: bodies, their print, and print on the board."""
    flat = Flat(12)

    def over(at: tuple[float, float]) -> tuple[float, float]:
        return board.WIDTH - at[0], at[1]

    pins = {name: over(at) for name, at in board.PINS.items()}
    for at in map(over, board.WIRES.values()):
        flat.hole(at, board.WIRE_HOLE)
    for x, y, diameter in board.HOLES:
        flat.hole(over((x, y)), diameter)
    for words, at, high in (
        ("R1", (32.6, 7.6), 1.5), ("C1", (2.4, 10.4), 1.5), ("R2", (12.6, 13.4), 1.5), ("D1", (5.4, 25.6), 1.4),
        ("D3", (10.0, 25.6), 1.4), ("D2", (37.2, 25.6), 1.4), ("D4", (32.6, 25.6), 1.4), ("C2", (27.0, 26.0), 1.4),
        ("L", (41.0, 7.4), 1.8), ("N", (41.0, 16.6), 1.8), ("+", (12.6, 27.8), 2.0), ("-", (12.6, 24.0), 2.0),
    ):  # fmt: skip
        flat.text(words, at, high, INK)
    for ref, names in (
        ("R1", ("1", "2")),
        ("R2", ("1", "2")),
        *((f"D{k}", ("anode", "cathode")) for k in (1, 2, 3, 4)),
    ):
        ends = [pins[f"{ref}.{name}"] for name in names]
        flat.line(ends, 0.7, linear((150, 150, 148)))
    _resistor(flat, pins["R1.1"], pins["R1.2"], (6.8, 2.9), (120, 124, 126), ("brown", "black", "brown", "gold"))
    _resistor(flat, pins["R2.1"], pins["R2.2"], (6.2, 2.4), (206, 178, 132), ("brown", "black", "green", "gold"))
    for number in (1, 2, 3, 4):
        _diode(flat, pins[f"D{number}.anode"], pins[f"D{number}.cathode"])
    left, right = pins["C1.2"], pins["C1.1"]
    middle = ((left[0] + right[0]) / 2, left[1])
    flat.box((middle[0] - 8.8, middle[1] - 3.6), (17.6, 7.2), linear((196, 172, 84)), 0.5, 0.08)
    flat.text("224K 275V~ X2", middle, 1.75, (40, 36, 24))
    # The electrolytic is bent over and lies on the board, its leads splayed to the two pads.
    plus, minus = pins["C2.1"], pins["C2.2"]
    for end, to in ((plus, (minus[0] - 0.9, 21.6)), (minus, (minus[0] + 0.9, 21.6))):
        flat.line((end, to), 0.5, linear((150, 150, 148)))
    flat.box((minus[0] - 2.5, 11.4), (5.0, 10.6), linear((26, 34, 74)), 0.5, 0.5)
    flat.box((minus[0] + 1.1, 12.0), (1.0, 9.6), linear((176, 180, 190)), 0.05, 0.1)
    flat.text("10uF 25V", (minus[0] - 0.6, 16.8), 1.5, (206, 208, 214), turned=True)
    return flat.light


def _resistor(
    flat: Flat,
    one: tuple[float, float],
    other: tuple[float, float],
    size: tuple[float, float],
    body: Colour,
    bands: Sequence[str],
) -> None:
    """A body along x with its bands, the first nearest to the pin that the record names first."""
    x, y = (one[0] + other[0]) / 2, one[1]
    way = 1 if other[0] > one[0] else -1
    flat.box((x - size[0] / 2, y - size[1] / 2), size, linear(body), size[1] * 0.35, 0.35)
    for place, name in zip((-0.32, -0.12, 0.08, 0.34), bands, strict=True):
        left = x + way * place * size[0] - 0.35
        flat.box((left, y - size[1] / 2 + 0.03), (0.7, size[1] - 0.06), linear(BANDS[name]), 0.0, 0.0)


def _diode(flat: Flat, anode: tuple[float, float], cathode: tuple[float, float]) -> None:
    """A black body along y with its ring at the cathode."""
    x, y = anode[0], (anode[1] + cathode[1]) / 2
    flat.box((x - 1.35, y - 2.6), (2.7, 5.2), linear((30, 30, 32)), 0.3, 0.5)
    end = y + (1.5 if cathode[1] > anode[1] else -2.2)
    flat.box((x - 1.35, end), (2.7, 0.7), linear((188, 190, 190)), 0.0, 0.0)
    flat.text("1N4007", (x, y + (-0.5 if cathode[1] > anode[1] else 0.5)), 0.95, (170, 172, 172), turned=True)


def photographed(flat: Linear, camera: Camera, seed: int) -> bytes:
    """The JPEG that the camera makes of it: light that falls off, blur, noise that grows with the light."""
    random = np.random.default_rng(seed)
    wide, high = camera.size
    pose = camera.to_photo(Board(width=board.WIDTH, height=board.HEIGHT))
    to_mm = np.array([[1 / SCALE, 0, 0.5 / SCALE - EDGE], [0, 1 / SCALE, 0.5 / SCALE - EDGE], [0, 0, 1]])
    fine = cv2.GaussianBlur(flat, (0, 0), 0.7)
    seen = cv2.warpPerspective(fine, pose @ to_mm, camera.size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    rows, columns = np.mgrid[:high, :wide].astype(np.float32)
    # A window at the upper left: half as bright again there as at the lower right.
    away = np.hypot(columns / wide + 0.45, rows / wide + 0.5)
    seen = seen * (1.15 * (0.95 / away) ** 0.8)[..., None]
    seen = cv2.GaussianBlur(seen, (0, 0), 0.8) * np.array([1.03, 1.0, 0.95], np.float32)
    grain = cv2.GaussianBlur(random.normal(size=seen.shape).astype(np.float32), (0, 0), 0.6) * 2.2
    seen = seen + 0.006 * grain * np.sqrt(np.clip(seen, 0.01, None) / 0.22)
    coded = np.round(np.clip(seen, 0, 1) ** (1 / 2.2) * 255).astype(np.uint8)
    exif = Image.Exif()
    # The focal length for a picture of 36 by 24 mm, from which the board's height follows from its width.
    exif.get_ifd(0x8769)[0xA405] = round(camera.focal * float(np.hypot(36, 24)))
    held = io.BytesIO()
    Image.fromarray(coded).save(held, "JPEG", quality=QUALITY, optimize=True, exif=exif)
    return held.getvalue()


def main() -> None:
    """Both photographs, into the package."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, flat, camera in (("copper.jpg", copper_side(), COPPER), ("parts.jpg", parts_side(), PARTS)):
        data = photographed(flat, camera, 5)
        (FOLDER / name).write_bytes(data)
        print(f"{FOLDER / name}: {len(data) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
