"""`lidoff report`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.options import ItemPath, Json, UsageError

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.account import Account
    from lidoff.record import Item
    from lidoff.writeup import Comparison, Form, Verified, Written

_MOST_CHANGES = 40


def _flag(name: str, text: str) -> Parameter:
    return Parameter(name=name, negative=(), show_default=False, help=text)


def report(
    item: ItemPath,
    /,
    *,
    folder: Annotated[
        Path | None,
        Parameter(name=["--folder", "-o"], help="Where to write it, or where it lies; without it, beside the record."),
    ] = None,
    short: Annotated[bool, _flag("--short", "The short form: the four answers and the essentials.")] = False,
    full: Annotated[bool, _flag("--full", "The full form; with --short, both.")] = False,
    pdf: Annotated[bool, _flag("--pdf", "A PDF beside each page.")] = False,
    stills: Annotated[
        bool, _flag("--stills", "A folder of pictures for slides and film, 1920 × 1080 and square.")
    ] = False,
    transparent: Annotated[bool, _flag("--transparent", "Stills on a transparent ground.")] = False,
    goal: Annotated[
        list[str] | None,
        Parameter(
            name="--goal",
            negative=(),
            consume_multiple=False,
            help="With --stills: before and after the best rework that reaches it, such as percent_flicker=20%; may be "
            "given several times.",
        ),
    ] = None,
    animation: Annotated[bool, _flag("--animation", "One mains cycle as a moving picture, GIF and WebP.")] = False,
    video: Annotated[bool, _flag("--video", "The same as WebM; needs lidoff[video].")] = False,
    verify: Annotated[
        bool, _flag("--verify", "Write nothing; run again and say what changed. Exit status 1 if anything did.")
    ] = False,
    json: Json = False,
) -> int:
    """The whole job in one write-up: report.html, with its figures beside it.

    The page needs no network and can be printed. Without --short and --full the record says which form, else it is the
    full one. A write-up that somebody has changed is never written over.
    """
    import lidoff
    from lidoff.cli.show import before_solving
    from lidoff.cli.waiting import stages_told

    asked = {"--short": short, "--full": full, "--pdf": pdf, "--stills": stills, "--animation": animation}
    asked |= {"--video": video, "--transparent": transparent, "--goal": bool(goal)}
    if verify and any(asked.values()):
        raise UsageError(f"--verify writes nothing; leave out {next(name for name, on in asked.items() if on)}")
    for name in ("--transparent", "--goal"):
        if asked[name] and not stills:
            raise UsageError(f"{name} is about stills; add --stills")
    record = lidoff.open(item)
    before_solving()
    from lidoff.account import take

    with stages_told() as told:
        account = take(record, told)
    where = record.folder if folder is None else folder
    if verify:
        from lidoff.writeup import verify as verified

        return _told_changes(verified(account, where), account, as_json=json)
    from lidoff.writeup import Extras, write

    comparison, said = _before_and_after(record, goal) if goal else (None, [])
    extras = Extras(
        pdf=pdf,
        stills=stills,
        animation=animation,
        video=video,
        ground="transparent" if transparent else "paper",
        comparison=comparison,
    )
    forms: list[Form] = []
    if full:
        forms.append("full")
    if short:
        forms.append("short")
    written = write(account, where, forms=forms, extras=extras)
    return _told(written, account, said, as_json=json)


def _before_and_after(record: Item, goals: list[str]) -> tuple[Comparison | None, list[str]]:
    """The best design that reaches the goals, as a picture, or why there is none."""
    from lidoff.account.rework import rework
    from lidoff.cli.waiting import told
    from lidoff.writeup.reworked import comparison_of

    with told() as tell:
        found = rework(record, goals, progress=tell)
    comparison = comparison_of(found)
    return comparison, [] if comparison else [f"There is no still of before and after: {found.verdict}"]


def _told(written: Written, account: Account, said: list[str], *, as_json: bool) -> int:
    from lidoff.cli.show import answer

    document = {
        "report": str(written.page),
        "files": [str(path) for path in written.files],
        "stale": [str(path) for path in written.stale],
        "fingerprint": account.fingerprint,
        "skipped": [{"stage": one.stage, "state": one.state, "why": one.why} for one in account.skipped],
    }
    older = [f"{path} is of another record or version and was not made again" for path in written.stale[:3]]
    if len(written.stale) > len(older):
        older.append(f"and {len(written.stale) - len(older)} more files there are as old")
    return answer(
        document,
        as_json=as_json,
        text=lambda out: _paths(out, written),
        warnings=[*account.warnings, *said, *older],
    )


def _paths(out: Console, written: Written) -> None:
    """The pages and what is to be looked at; of a folder, the folder."""
    shown = [path for path in written.files if path not in (written.data, written.table)]
    for path in dict.fromkeys(one if one.parent == written.page.parent else one.parent for one in shown):
        out.print(str(path), soft_wrap=True)


def _told_changes(found: Verified, account: Account, *, as_json: bool) -> int:
    from lidoff.cli.show import answer

    count = len(found.changes)
    wrong = None
    if count:
        wrong = f"{count} of {found.compared} figures and judgements {'has' if count == 1 else 'have'} changed."
    return answer(
        found.as_json(),
        as_json=as_json,
        text=lambda out: _changes(out, found),
        warnings=account.warnings,
        wrong=wrong,
    )


def _changes(out: Console, found: Verified) -> None:
    lines: list[Any] = []
    if not found.same_version:
        lines.append(f"It was made with lidoff {found.old_version}; this is lidoff {found.new_version}.")
    if not found.same_record:
        lines.append("The record, or a recording in it, is not what it was made from.")
        lines.append(f"  then {found.old_fingerprint}")
        lines.append(f"  now  {found.new_fingerprint}")
    if found.same_version and found.same_record:
        lines.append("Version and record are the same.")
    if not found.changes:
        lines.append(f"All {found.compared} figures and judgements are the same to the digits shown.")
    lines += [one.sentence for one in found.changes[:_MOST_CHANGES]]
    if len(found.changes) > _MOST_CHANGES:
        lines.append(f"… and {len(found.changes) - _MOST_CHANGES} more; --json names them all.")
    for text in lines:
        out.print(text, soft_wrap=True)
