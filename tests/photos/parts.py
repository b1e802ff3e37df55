"""Pictures of invented parts, drawn by Pillow in its own typeface, in three grades of difficulty.

The grades were fixed before anything was measured; docs/lettering.md has the counts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

GRADES = ("clear", "small", "faint")
MARKINGS = (
    "104K",
    "4k7",
    "T2AL250V",
    "BT134-600",
    "1N4007",
    "681",
    "473J\n100V",
    "0.1uF\n275V~ X2",
)
BOARD, BODY = (38, 92, 60), (48, 48, 52)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One picture to draw: what is printed on it, and how badly it was photographed."""

    marking: str
    grade: str
    turn: int  # degrees clockwise
    height: int  # of the typeface [pixels]
    ink: int  # how much lighter than the body [grey levels]
    blur: float = 0.0  # [pixels]
    noise: float = 0.0  # [grey levels, standard deviation]
    glare: float = 0.0  # across the body [grey levels]

    @property
    def name(self) -> str:
        return f"{self.marking} {self.grade}".replace("\n", " / ")

    def draw(self) -> Image.Image:
        """The picture; the same each time."""
        lines = self.marking.split("\n")
        font = ImageFont.load_default(size=self.height)
        wide = round(max(font.getlength(line) for line in lines) + 1.6 * self.height)
        high = round(self.height * (1.3 * len(lines) + 0.9))
        picture = Image.new("RGB", (wide + 2 * self.height, high + 2 * self.height), BOARD)
        draw = ImageDraw.Draw(picture)
        edge = self.height
        draw.rounded_rectangle((edge, edge, edge + wide, edge + high), radius=self.height // 5, fill=BODY)
        for place, line in enumerate(lines):
            middle = (edge + wide / 2, edge + high / 2 + (place - (len(lines) - 1) / 2) * 1.25 * self.height)
            draw.text(middle, line, font=font, fill=tuple(level + self.ink for level in BODY), anchor="mm")
        picture = picture.rotate(-self.turn, expand=True, fillcolor=BOARD, resample=Image.Resampling.BICUBIC)
        if self.blur:
            picture = picture.filter(ImageFilter.GaussianBlur(self.blur))
        levels = np.asarray(picture).astype(float)
        if self.glare:
            levels += self.glare * np.linspace(0.0, 1.0, picture.width)[None, :, None] ** 2
        seed = [ord(character) for character in self.name]
        levels += np.random.default_rng(seed).normal(0.0, self.noise, levels.shape)
        return Image.fromarray(levels.clip(0, 255).astype(np.uint8))


def parts() -> list[Part]:
    """The twenty-four: each marking in each grade, the clear ones in all four quarter turns."""
    made = []
    for place, marking in enumerate(MARKINGS):
        made += [
            Part(marking=marking, grade="clear", turn=90 * (place % 4), height=34, ink=150),
            Part(marking=marking, grade="small", turn=180 * (place % 2), height=13, ink=110, blur=0.9, noise=10),
            Part(marking=marking, grade="faint", turn=25, height=26, ink=22, blur=1.2, noise=10, glare=90),
        ]
    return made
