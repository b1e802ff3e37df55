"""The pages, in the order of the work. Every module here is found by itself; see the top of `lidoff.desk.app`.

10 first page   20 outside and label   30 closed, with a meter   40 plug   50 opening   55 tracing   60 parts
65 connections   70 cycle   80 readings   90 hazards   95 rework   100 write-up
"""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator
from importlib import import_module
from types import ModuleType

from starlette.routing import BaseRoute

from lidoff.desk.frame import Page


def _modules() -> Iterator[ModuleType]:
    for found in pkgutil.iter_modules(__path__):
        yield import_module(f"{__name__}.{found.name}")


def pages() -> list[Page]:
    """The pages that are shown now, in order."""
    found = [module.PAGE for module in _modules() if hasattr(module, "PAGE")]
    return sorted((one for one in found if one.shown()), key=lambda one: one.order)


def routes() -> list[BaseRoute]:
    """The routes of every page."""
    return [route for module in _modules() for route in module.routes]
