"""The desk: a local web app in which an item is entered, looked at and written up. No physics, no database.

    create_app(folder, token=…, hosts=…)    # the app, for a server or a test
    serve(folder)                           # what `lidoff desk` does

How it is put together, and how to add a page, stands at the top of `lidoff.desk.app`.
"""

from __future__ import annotations

from lidoff.desk.app import create_app

__all__ = ["create_app"]
