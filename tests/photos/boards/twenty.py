"""The twenty boards that the tracing is tried on: ten as in cheap mains products, ten that try the camera.

Paper board with wide tinned tracks and white flexible LED tape make one half; the rest are mask colours, lettering,
glare, perspective, noise and light from behind. 8 to 60 pixels per mm.
"""

from __future__ import annotations

from tests.photos.boards.paint import Shot
from tests.photos.boards.plan import Plan, routed, tape


def _broad(seed: int, *, width: float = 52, height: float = 36, pads: int = 34, nets: int = 12) -> Plan:
    return routed(
        seed, width=width, height=height, grid=1.27, track=0.95, pads=pads, nets=nets, pad=2.0, drill=0.9, filled=0.5
    )


def _fine(seed: int, *, width: float = 42, height: float = 30, pads: int = 44, isolated: float = 0.0) -> Plan:
    return routed(
        seed,
        width=width,
        height=height,
        grid=0.6,
        track=0.34,
        pads=pads,
        nets=16,
        pad=1.4,
        drill=0.8,
        share_flat=0.3,
        isolated=isolated,
    )


def twenty() -> tuple[tuple[Plan, Shot], ...]:
    """The boards and their shots, always the same."""
    dark = (40, 40, 42)
    return (
        (_broad(101), Shot(name="paper-plain", seed=1, px_per_mm=24, base="paper", metal="tin", solder=True, turn=3)),
        (
            _broad(102),
            Shot(
                name="paper-lettered",
                seed=2,
                px_per_mm=30,
                base="paper",
                metal="tin",
                solder=True,
                letters=1.0,
                ground="wood",
                tilt=0.05,
            ),
        ),
        (
            _broad(103),
            Shot(
                name="paper-dark-glare",
                seed=3,
                px_per_mm=22,
                base="paper-dark",
                metal="tin",
                solder=True,
                glare=0.35,
                ground="steel",
                turn=-6,
            ),
        ),
        (
            _broad(104),
            Shot(
                name="paper-old-copper",
                seed=4,
                px_per_mm=40,
                base="paper",
                metal="old-copper",
                tarnish=0.12,
                noise=0.02,
                uneven=0.6,
            ),
        ),
        (
            _broad(105),
            Shot(
                name="paper-coarse",
                seed=5,
                px_per_mm=10,
                base="composite",
                metal="tin",
                solder=True,
                blur=0.9,
                quality=80,
                ground="paper",
            ),
        ),
        (
            tape(106),
            Shot(
                name="tape-plain", seed=6, px_per_mm=24, base="tape", mask="white", metal="tin", texture=0.02, turn=-4
            ),
        ),
        (
            tape(107, groups=2),
            Shot(
                name="tape-lettered",
                seed=7,
                px_per_mm=32,
                base="tape",
                mask="white",
                metal="gold",
                letters=0.8,
                letter_colour=dark,
                texture=0.02,
                ground="wood",
            ),
        ),
        (
            tape(108),
            Shot(
                name="tape-on-paper",
                seed=8,
                px_per_mm=20,
                base="tape",
                mask="white",
                metal="tin",
                texture=0.03,
                ground="paper",
                uneven=0.5,
            ),
        ),
        (
            tape(109, groups=2),
            Shot(
                name="tape-glare",
                seed=9,
                px_per_mm=28,
                base="tape",
                mask="white",
                metal="gold",
                texture=0.02,
                glare=0.25,
                ground="steel",
                tilt=0.04,
            ),
        ),
        (
            tape(110),
            Shot(
                name="tape-coarse",
                seed=10,
                px_per_mm=9,
                base="tape",
                mask="white",
                metal="copper",
                texture=0.03,
                noise=0.02,
                blur=0.9,
            ),
        ),
        (
            _fine(111),
            Shot(
                name="green",
                seed=11,
                px_per_mm=26,
                mask="green",
                metal="tin",
                letters=0.8,
                solder=True,
                tilt=0.04,
            ),
        ),
        (
            _fine(112),
            Shot(name="green-glare", seed=12, px_per_mm=24, mask="green-light", metal="tin", letters=1.0, glare=0.5),
        ),
        (_fine(113), Shot(name="blue", seed=13, px_per_mm=20, mask="blue", metal="gold", letters=0.6, noise=0.02)),
        (_fine(114), Shot(name="red-tilted", seed=14, px_per_mm=30, mask="red", metal="tin", tilt=0.15, turn=9)),
        (_fine(115), Shot(name="black", seed=15, px_per_mm=28, mask="black", metal="gold", letters=0.8)),
        (
            _fine(116),
            Shot(
                name="bare-tilted",
                seed=16,
                px_per_mm=22,
                base="fr4",
                metal="copper",
                tilt=0.14,
                turn=-11,
                tarnish=0.1,
                burr=0.03,
            ),
        ),
        (
            _fine(117, isolated=0.3),
            Shot(name="milled", seed=17, px_per_mm=14, base="fr4-dark", metal="copper", tilt=0.1, tarnish=0.08),
        ),
        (
            _fine(118, width=30, height=22, pads=26),
            Shot(
                name="bare-close",
                seed=18,
                px_per_mm=60,
                base="fr4-dark",
                metal="copper",
                noise=0.025,
                blur=1.4,
                tarnish=0.1,
            ),
        ),
        (
            _broad(119),
            Shot(name="through-paper", seed=19, px_per_mm=20, base="paper", metal="tin", lit_through=True, uneven=0.5),
        ),
        (
            _fine(120),
            Shot(name="through-coarse", seed=20, px_per_mm=8, base="fr4", metal="tin", lit_through=True, noise=0.015),
        ),
    )
