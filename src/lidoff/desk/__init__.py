"""The desk: a local web app in which an item is entered, looked at and written up. No physics, no database.

    create_app(folder, token=…, port=…)     # the app, for a server or a test

`serving.serve(folder)` is what `lidoff desk` does. How it is put together, and how to add a page, stands at the top of
`lidoff.desk.app`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lidoff.desk.app import create_app

__all__ = ["create_app"]


def __getattr__(name: str) -> Any:
    """The app and its pages are loaded when they are asked for: who only edits a record needs none of them."""
    if name != "create_app":
        raise AttributeError(f"module 'lidoff.desk' has no attribute {name!r}")
    from lidoff.desk.app import create_app

    return create_app
