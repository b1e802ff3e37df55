"""`lidoff hazards`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from lidoff.cli.options import ItemPath, Json

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.hazards import BenchCard, Finding, Findings, Look


def hazards(
    item: ItemPath,
    /,
    *,
    card: Annotated[
        bool,
        Parameter(
            name="--card", negative=(), show_default=False, help="Only the bench card: what is live, what holds charge."
        ),
    ] = False,
    look: Annotated[
        bool,
        Parameter(
            name="--look", negative=(), show_default=False, help="Only the look list, with the answers there are."
        ),
    ] = False,
    step: Annotated[
        list[str] | None,
        Parameter(
            name="--step",
            negative=(),
            consume_multiple=False,
            help="A step's probability, chosen by you: RULE.NUMBER=P, such as cord-grip-missing.1=0.1",
        ),
    ] = None,
    json: Json = False,
) -> int:
    """Judge what could hurt somebody: findings with their basis, open questions, and what nobody looked at.

    Nothing here is a test certificate. Isolate and discharge before you look; local codes and licensed practice come
    first.
    """
    import lidoff
    from lidoff.account.hazards import facts_of
    from lidoff.cli.show import answer, before_solving
    from lidoff.hazards import bench_card, judge, look_list

    chosen = _chosen(step or [])
    record = lidoff.open(item)
    warnings = [str(problem) for problem in record.warnings]
    if look:
        looks = look_list(record)
        return answer(
            {"look": [one.as_json() for one in looks]},
            as_json=json,
            text=lambda out: _write_look(out, looks, record.title or str(item)),
            warnings=warnings,
        )
    before_solving()
    facts = facts_of(record, chosen)
    if card:
        made = bench_card(facts)
        return answer(
            {"card": made.as_json()}, as_json=json, text=lambda out: _write_card(out, made), warnings=warnings
        )
    found = judge(facts)
    document = {**found.as_json(), "card": bench_card(facts).as_json()}
    return answer(
        document, as_json=json, text=lambda out: _write(out, found, record.title or str(item)), warnings=warnings
    )


def _chosen(steps: list[str]) -> dict[str, float]:
    """The probabilities the user chose, by "rule-id.number"."""
    from lidoff.cli.options import UsageError
    from lidoff.hazards import NoSuchRuleError, rule

    chosen = {}
    for text in steps:
        key, _, value = text.partition("=")
        id, _, number = key.strip().rpartition(".")
        try:
            asked = rule(id)
        except NoSuchRuleError as error:
            raise UsageError(f"--step {text}: {error}") from None
        if not number.isdigit() or not 1 <= int(number) <= len(asked.steps):
            raise UsageError(f"--step {text}: {asked.id} has steps 1 to {len(asked.steps)}")
        try:
            probability = float(value)
        except ValueError:
            probability = -1.0
        if not 0.0 <= probability <= 1.0:
            raise UsageError(f"--step {text}: give a probability between 0 and 1, such as {key}=0.1")
        chosen[f"{asked.id}.{number}"] = probability
    return chosen


def _write(out: Console, found: Findings, title: str) -> None:
    out.print(title, style="bold")
    out.print(found.sentence)
    for one in found.findings:
        out.print()
        _write_finding(out, one)
    if found.undecided:
        out.print()
        out.print("Undecided", style="bold")
        for left in found.undecided:
            out.print(f"  {left.title} ({left.id})")
            for need in left.needs:
                out.print(f"    needs: {need}", style="dim")
    if found.not_looked_at:
        out.print()
        out.print("Not looked at", style="bold")
        for sentence in found.not_looked_at:
            out.print(f"  {sentence}")
    for heading, lines in (("Not worked out", found.skipped), ("Notes that answer no question", found.notes)):
        if lines:
            out.print()
            out.print(heading, style="bold")
            for line in lines:
                out.print(f"  {line}")
    if found.verdict.get("text"):
        out.print()
        out.print("The practitioner's own verdict", style="bold")
        whom = f" For {found.verdict['for']}." if found.verdict.get("for") else ""
        out.print(f"  “{found.verdict['text']}”{whom}")
    out.print()
    for sentence in found.cautions:
        out.print(sentence, style="dim")


def _write_finding(out: Console, one: Finding) -> None:
    from lidoff.hazards import cited

    out.print(f"{one.risk.level.upper()}  {one.title} ({one.id})", style="bold")
    for sentence in one.because:
        out.print(f"  {sentence}")
    out.print(f"  {one.why}")
    out.print(f"  Risk: {one.risk.words} Severity {one.risk.severity} of 4.")
    for step in one.risk.steps:
        out.print(f"    {step.probability:g}  {step.what} ({step.origin})", style="dim")
    out.print(f"  How sure: {one.confidence}. Evidence: {'; '.join(one.evidence)}")
    out.print(f"  Basis: {cited(one.basis)}", style="dim")
    out.print(f"  What would settle it: {one.settles}")
    out.print(f"  What to do: {one.action}")
    out.print(f"  Caution: {one.caution}")


def _write_card(out: Console, card: BenchCard) -> None:
    out.print(f"Bench card: {card.title}", style="bold")
    for sentence in (*card.sentences, *card.cautions):
        out.print(f"  {sentence}")


def _write_look(out: Console, looks: tuple[Look, ...], title: str) -> None:
    from lidoff.hazards import PHASES

    out.print(title, style="bold")
    phase = ""
    for one in looks:
        if one.phase != phase:
            phase = one.phase
            out.print()
            out.print(PHASES[one.phase], style="bold")
        state = one.answer or "not looked at"
        out.print(f"  {one.question.id}: {one.question.ask} [{state}]")
        if one.answer is None:
            table = f" In item.toml: [[{one.question.table}]]." if one.question.table else ""
            out.print(f"    {one.question.how}{table}", style="dim")
            out.print(f"    answers: {', '.join(one.question.answers)}", style="dim")
            if one.question.photo_first:
                out.print(f"    photograph first: {one.question.photo_first}", style="dim")
