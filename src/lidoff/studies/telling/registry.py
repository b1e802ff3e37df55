"""Which function tells of which group."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from lidoff.record import Table
from lidoff.studies.telling import dimming, direct, feed, loads
from lidoff.studies.telling.case import Teller

TELLERS: Final[Mapping[str, Teller]] = Table(
    {
        "input-stage": feed.input_stage,
        "series-part": feed.in_row,
        "series-resistor": feed.in_row,
        "mains-switch": feed.switch,
        "branch-switch": feed.switch,
        "thermostat": feed.switch,
        "indicator": feed.indicator,
        "discharge-resistor": feed.discharge,
        "transformer-supply": feed.transformer,
        "capacitor-dropper": feed.dropper,
        "half-wave-setting": feed.heat_setting,
        "interference-filter": feed.interference,
        "phase-control": dimming.phase_control,
        "thyristor-control": dimming.phase_control,
        "latch-switch": dimming.latch_switch,
        "snubber": dimming.snubber,
        "no-snubber": dimming.snubber,
        "bridge-rectifier": direct.rectifier,
        "half-wave-rectifier": direct.rectifier,
        "blocking-diode": direct.blocking,
        "capacitor-input": direct.smoothing,
        "valley-fill": direct.valley_fill,
        "voltage-doubler": direct.doubler,
        "converter-front-end": direct.converter,
        "led-string": loads.led_string,
        "ballast": loads.ballast,
        "current-source": loads.current_source,
        "zener-clamp": loads.clamp,
        "surge-clamp": loads.clamp,
        "load": loads.load,
    }
)
"""Group name to the function that tells of it; a test holds that every name that recognition gives is here."""
