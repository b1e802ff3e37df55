"""Figures of arrays and their limits. This room knows no circuit: arrays in, numbers and frozen records out."""

from lidoff.figures.comparison import Comparison, Item
from lidoff.figures.edges import Edge, find_edges
from lidoff.figures.filming import Camera, Exposure, Roll, camera, modulation_left
from lidoff.figures.input_limits import input_comparisons, limits
from lidoff.figures.interference import Interference, Level, estimate
from lidoff.figures.light import light_figures
from lidoff.figures.light_bounds import bounds, light_comparisons
from lidoff.figures.mains import input_figures, input_figures_direct, input_figures_uniform
from lidoff.figures.mains_filter import FilterEffect, attenuation, effects
from lidoff.figures.modulation import most_modulation
from lidoff.figures.pst import pst_lm, pst_lm_recording
from lidoff.figures.sentences import (
    CORNER_OF_THE_EYE,
    Sentence,
    at_other_mains,
    input_sentences,
    light_sentences,
    warning,
)
from lidoff.figures.stroboscopic import svm
from lidoff.figures.timing import Timing, current_timing
from lidoff.figures.wave import displacement_factor, form_factor, harmonics, mean, peak, resample, rms, spectrum, thd

__all__ = [
    "CORNER_OF_THE_EYE",
    "Camera",
    "Comparison",
    "Edge",
    "Exposure",
    "FilterEffect",
    "Interference",
    "Item",
    "Level",
    "Roll",
    "Sentence",
    "Timing",
    "at_other_mains",
    "attenuation",
    "bounds",
    "camera",
    "current_timing",
    "displacement_factor",
    "effects",
    "estimate",
    "find_edges",
    "form_factor",
    "harmonics",
    "input_comparisons",
    "input_figures",
    "input_figures_direct",
    "input_figures_uniform",
    "input_sentences",
    "light_comparisons",
    "light_figures",
    "light_sentences",
    "limits",
    "mean",
    "modulation_left",
    "most_modulation",
    "peak",
    "pst_lm",
    "pst_lm_recording",
    "resample",
    "rms",
    "spectrum",
    "svm",
    "thd",
    "warning",
]
