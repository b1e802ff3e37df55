"""The library that the tracing of boards leans on, loaded when it is first needed."""

from __future__ import annotations

from typing import Any

from lidoff.photos.picture import PhotoError


def opencv() -> Any:
    """OpenCV's module. Raises PhotoError, naming the extra, where it is not installed."""
    try:
        import cv2
    except ImportError as error:
        raise PhotoError("Tracing a board needs the extra photos: pip install lidoff[photos].") from error
    return cv2


def watershed() -> Any:
    """scikit-image's flooding from markers, which takes heights that are no whole numbers; OpenCV's takes bytes.

    Raises PhotoError, naming the extra, where it is not installed.
    """
    try:
        from skimage.segmentation import watershed as flood
    except ImportError as error:
        raise PhotoError("Tracing a board needs the extra photos: pip install lidoff[photos].") from error
    return flood


def cheapest_path() -> Any:
    """scikit-image's cheapest path through an array of prices.

    Raises PhotoError, naming the extra, where it is not installed.
    """
    try:
        from skimage.graph import route_through_array
    except ImportError as error:
        raise PhotoError("Tracing a board needs the extra photos: pip install lidoff[photos].") from error
    return route_through_array
