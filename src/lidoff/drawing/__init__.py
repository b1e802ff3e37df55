"""Pictures as SVG: waves of a cycle, the cycle dial, figures along a value, the schematic, and what has a limit.

What has a limit: harmonic currents, the light over a cycle, radio disturbance.
"""

from lidoff.drawing.dial import cycle_dial_svg
from lidoff.drawing.fault_picture import faults_svg
from lidoff.drawing.harmonics import harmonics_svg
from lidoff.drawing.instant import CycleScene, cycle_scene, instant_svg, six_instants_svg
from lidoff.drawing.light_picture import light_svg
from lidoff.drawing.render import Overlay, rendered
from lidoff.drawing.schematics import Schematic, overlay_for, schematic, schematic_svg
from lidoff.drawing.spectrum import spectrum_svg
from lidoff.drawing.svg import DrawingError
from lidoff.drawing.sweep import sweep_svg, turn_svg, vary_svg
from lidoff.drawing.view import CycleView, view_of
from lidoff.drawing.waveform import waveform_svg

__all__ = [
    "CycleScene",
    "CycleView",
    "DrawingError",
    "Overlay",
    "Schematic",
    "cycle_dial_svg",
    "cycle_scene",
    "faults_svg",
    "harmonics_svg",
    "instant_svg",
    "light_svg",
    "overlay_for",
    "rendered",
    "schematic",
    "schematic_svg",
    "six_instants_svg",
    "spectrum_svg",
    "sweep_svg",
    "turn_svg",
    "vary_svg",
    "view_of",
    "waveform_svg",
]
