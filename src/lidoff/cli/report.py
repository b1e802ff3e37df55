"""`lidoff report`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lidoff.cli.options import ItemPath, Json


def report(
    item: ItemPath,
    /,
    *,
    folder: Annotated[
        Path | None,
        Parameter(name=["--folder", "-o"], help="Where to write it; without it, beside the record."),
    ] = None,
    json: Json = False,
) -> int:
    """The whole job in one write-up: report.html, with its figures beside it.

    The page needs no network and can be printed. A write-up that somebody has changed is never written over.
    """
    import lidoff
    from lidoff.cli.show import answer, before_solving
    from lidoff.cli.waiting import stages_told

    record = lidoff.open(item)
    before_solving()
    from lidoff.account import take
    from lidoff.writeup import write

    with stages_told() as told:
        account = take(record, told)
    written = write(account, record.folder if folder is None else folder)
    document = {
        "report": str(written.page),
        "files": [str(written.page), str(written.data), str(written.table)],
        "fingerprint": account.fingerprint,
        "skipped": [{"stage": one.stage, "state": one.state, "why": one.why} for one in account.skipped],
    }
    return answer(
        document,
        as_json=json,
        text=lambda out: out.print(str(written.page), soft_wrap=True),
        warnings=account.warnings,
    )
