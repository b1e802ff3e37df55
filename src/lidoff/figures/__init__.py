"""Figures of arrays and their limits. This room knows no circuit: arrays in, numbers and frozen records out."""

from lidoff.figures.light import light_figures
from lidoff.figures.mains import input_figures, input_figures_direct, input_figures_uniform
from lidoff.figures.wave import displacement_factor, harmonics, mean, peak, resample, rms, spectrum, thd

__all__ = [
    "displacement_factor",
    "harmonics",
    "input_figures",
    "input_figures_direct",
    "input_figures_uniform",
    "light_figures",
    "mean",
    "peak",
    "resample",
    "rms",
    "spectrum",
    "thd",
]
