"""One mains cycle as a moving picture: the currents in the circuit, the dial's hand and the cursor on the waves.

The frames stand at even steps of the cycle, so that the last runs into the first. GIF and WebP are made by Pillow;
WebM (VP9) needs PyAV, which the extra `video` installs.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, Final

from PIL import Image

from lidoff.account import Account, solved
from lidoff.drawing import DrawingError, cycle_dial_svg, cycle_scene
from lidoff.drawing.still import Frame, cursor_svg, hand_svg, wave_still_svg
from lidoff.drawing.svg import fitted
from lidoff.drawing.view import CycleView, view_of
from lidoff.errors import LidoffError
from lidoff.writeup import typesetting
from lidoff.writeup.compose import compose

TEMPLATE: Final = "frame.typ"
WIDTH, HEIGHT = 1280, 720
STEPS: Final = 90
"""Frames in a cycle: 4 degrees each."""
SECONDS: Final = 4.5
"""How long one cycle is stretched to."""
NAME: Final = "cycle"
KINDS: Final = ("gif", "webp", "webm")

_COLOURS: Final = 64  # of the GIF's one palette
_AT_ONCE: Final = 15  # frames set in one go, which bounds the memory


class AnimationError(LidoffError):
    """A moving picture that cannot be made here; the text says why and what to do."""


def render_animation(
    account: Account, kinds: Sequence[str] = ("gif", "webp"), *, steps: int = STEPS
) -> dict[str, bytes]:
    """The cycle of the main state as `cycle.gif`, `cycle.webp` and `cycle.webm`, those asked for, in so many frames.

    Empty where the account has no cycle on the mains. Raises AnimationError where WebM is asked for without PyAV, and
    TypesettingError where a frame cannot be set.
    """
    encoders: Mapping[str, Callable[[list[Image.Image]], bytes]] = {"gif": _gif, "webp": _webp, "webm": _webm}
    if "webm" in kinds:
        _video_library()
    frames = list(frames_of(account, steps))
    return {f"{NAME}.{kind}": encoders[kind](frames) for kind in kinds} if frames else {}


def frames_of(account: Account, steps: int = STEPS) -> Iterator[Image.Image]:
    """The frames of one cycle, `steps` of them, in colours of 8 bits."""
    main = account.main
    if main is None or main.view is None or account.drawings is None:
        return
    view = view_of(main.view, most_cycles=1)
    solution = solved(account, main)
    try:
        scene = cycle_scene(solution.circuit, solution, hints=account.item.drawing, size=20.0, values=False)
    except DrawingError:
        return
    wave = Frame(width=1200.0, height=250.0, size=22.0)
    dial = typesetting.picture(cycle_dial_svg(view, bare=True))
    still = {
        "title": fitted(compose(account).title, 24.0, 900.0),
        "width": WIDTH,
        "height": HEIGHT,
        "dial": dial,
        "wave": typesetting.picture(wave_still_svg(view, wave)),
    }
    angles = [360.0 * k / steps for k in range(steps)]
    for start in range(0, steps, _AT_ONCE):
        moving = [
            _moving(view, wave, dial, scene.bare(angle / (360.0 * view.frequency)), angle)
            for angle in angles[start : start + _AT_ONCE]
        ]
        for page in typesetting.png(TEMPLATE, {**still, "frames": moving}):
            with Image.open(io.BytesIO(page)) as image:
                yield image.convert("RGB")


def _moving(view: CycleView, wave: Frame, dial: Mapping[str, Any], circuit: str, angle: float) -> dict[str, Any]:
    period = 1000.0 / view.frequency
    return {
        "circuit": typesetting.picture(circuit),
        "hand": typesetting.picture(hand_svg(angle, width=dial["width"], height=dial["height"])),
        "cursor": typesetting.picture(cursor_svg(view, wave, angle)),
        "words": f"{angle:.0f}°, {angle / 360.0 * period:.1f} of {period:.3g} ms",
    }


def _few_colours(frames: Sequence[Image.Image]) -> list[Image.Image]:
    """One palette for all frames, so that nothing flickers; no dither, so that flat areas stay flat and small."""
    pick = frames[:: max(len(frames) // 6, 1)]
    board = Image.new("RGB", (WIDTH, HEIGHT * len(pick)))
    for place, frame in enumerate(pick):
        board.paste(frame, (0, HEIGHT * place))
    palette = board.quantize(colors=_COLOURS, method=Image.Quantize.MEDIANCUT)
    return [frame.quantize(palette=palette, dither=Image.Dither.NONE) for frame in frames]


def _gif(frames: Sequence[Image.Image]) -> bytes:
    return _looped(_few_colours(frames), "GIF")


def _webp(frames: Sequence[Image.Image]) -> bytes:
    """Without loss: of flat colours that is smaller than with."""
    return _looped(
        [frame.convert("RGB") for frame in _few_colours(frames)], "WEBP", lossless=True, quality=50, method=2
    )


def _looped(frames: Sequence[Image.Image], kind: str, **options: Any) -> bytes:
    out = io.BytesIO()
    each = round(1000 * SECONDS / len(frames))
    frames[0].save(out, kind, save_all=True, append_images=list(frames[1:]), duration=each, loop=0, **options)
    return out.getvalue()


def _webm(frames: Sequence[Image.Image]) -> bytes:
    """VP9 at constant quality; nothing of the machine or the time goes into the file."""
    av = _video_library()
    out = io.BytesIO()
    with av.open(out, "w", format="webm", options={"fflags": "+bitexact"}) as container:
        rate = Fraction(len(frames)) / Fraction(SECONDS).limit_denominator(1000)
        stream = container.add_stream("libvpx-vp9", rate=rate)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        stream.options = {"crf": "32", "b": "0", "threads": "1", "row-mt": "0", "cpu-used": "4", "flags": "+bitexact"}
        for frame in frames:
            for packet in stream.encode(av.VideoFrame.from_image(frame)):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    return out.getvalue()


def _video_library() -> Any:
    try:
        import av
    except ImportError as error:
        raise AnimationError(
            "A WebM needs PyAV, which is not installed; install lidoff[video], or ask for the animation without it"
        ) from error
    return av
