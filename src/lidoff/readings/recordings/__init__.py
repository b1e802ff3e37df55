"""Recordings: samples of voltage or current from a scope or a clamp, brought to one cycle and its figures."""

from lidoff.readings.recordings.reading import read_all, read_recording

__all__ = ["read_all", "read_recording"]
