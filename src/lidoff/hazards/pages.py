"""docs/hazards/, written from the catalogue: `python -m lidoff.hazards.pages docs/hazards`.

A page per rule with the same headings, an index, the look list, and the codes ever given out. Building stops where a
heading has nothing under it.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

from lidoff.hazards.catalogue import RETIRED, RULES, VERSION
from lidoff.hazards.given import described
from lidoff.hazards.questions import PHASES, QUESTIONS, Question
from lidoff.hazards.risk import rate
from lidoff.hazards.rule import Case, Rule
from lidoff.standards import document

_NOT_BY_HAND: Final = "<!-- Written by python -m lidoff.hazards.pages docs/hazards; not by hand. -->"


def pages() -> dict[str, str]:
    """Every file of the folder by its name. Raises ValueError for a rule with an empty heading."""
    made = {f"{rule.id}.md": _page(rule) for rule in RULES}
    return {"index.md": _index(), "look-list.md": _look_list(), **made}


def _page(rule: Rule) -> str:
    risk = rate(rule.steps, rule.severity)
    sections = {
        "What it looks at": rule.looks_at,
        "Why it matters": rule.why,
        "Source": "\n".join(
            f"- {basis}: {basis.what or document(basis.document).title}".rstrip(": ") for basis in rule.basis
        ),
        "Known limits": rule.limits,
        "What would settle it": rule.settles,
        "What to do": rule.action,
        "Caution": rule.caution,
        "Risk": "\n".join(
            [
                "The scenario by which the risk level is found, after Delegated Regulation (EU) 2024/3173, Annex II:",
                "",
                "| step | probability | from |",
                "|---|---|---|",
                *(f"| {one.what} | {one.probability:g} | {one.origin} |" for one in rule.steps),
                "",
                f"Severity {risk.severity} of 4, overall probability {risk.probability:.2g}. {risk.words} "
                "A finding may have steps and a severity of its own; each can be chosen with `--step`.",
            ]
        ),
        "Status": f"Code {rule.code}, in the catalogue since version {rule.since}.",
    }
    for heading, text in sections.items():
        if not text.strip():
            raise ValueError(f"{rule.id}: nothing under {heading!r}")
    body = "\n\n".join(f"## {heading}\n\n{text}" for heading, text in sections.items())
    cases = "\n\n".join(
        _case(rule, heading, case)
        for heading, case in (("It fires", rule.bad), ("It is silent", rule.good), ("It is undecided", rule.undecided))
    )
    return f"{_NOT_BY_HAND}\n\n# {rule.title}\n\n`{rule.id}`\n\n{body}\n\n## Examples\n\n{cases}\n"


def _case(rule: Rule, heading: str, case: Case) -> str:
    findings, undecided = rule.judge(case.facts())
    lines = [f"### {heading}", "", case.about, "", "```toml", *case.text.rstrip().splitlines(), "```"]
    given = described(case.worked_out)
    if given:
        lines += ["", "Given besides:", "", *(f"- {line}" for line in given)]
    for finding in findings:
        lines += ["", *(f"> {sentence}" for sentence in finding.because)]
    for one in undecided:
        lines += ["", *(f"> Undecided; needs: {need}" for need in one.needs)]
    return "\n".join(lines)


def _index() -> str:
    lines = [
        _NOT_BY_HAND,
        "",
        "# Hazards",
        "",
        f"The rules by which `lidoff hazards` judges an item: catalogue {VERSION}, {len(RULES)} rules. A code and an "
        f"id "
        "belong to one rule for good. No rule calls an item good: what was not looked at is listed, and a rule that "
        "lacks something says what it needs. Beside the rules: [what to look at, and in what order](look-list.md).",
        "",
        "Most clauses of product standards are cited from memory, and each finding says so: read the document before "
        "anything hangs on it. The step probabilities are our assumptions. A level that changes when the overall "
        "probability is off by the stated factor is said to.",
        "",
        "| code | rule | severity | level of its scenario |",
        "|---|---|---|---|",
    ]
    for rule in RULES:
        risk = rate(rule.steps, rule.severity)
        span = f"{risk.level} ({risk.low} to {risk.high})" if risk.flips else risk.level
        lines.append(f"| {rule.code} | [{rule.title}]({rule.id}.md) | {rule.severity} | {span} |")
    if RETIRED:
        lines += ["", "## Withdrawn", "", "| code | id | since | why | see |", "|---|---|---|---|---|"]
        lines += [f"| {gone.code} | `{gone.id}` | {gone.since} | {gone.why} | {gone.successor} |" for gone in RETIRED]
    return "\n".join([*lines, ""])


def _look_list() -> str:
    lines = [
        _NOT_BY_HAND,
        "",
        "# What to look at, and in what order",
        "",
        "`lidoff hazards ITEM --look` lists the questions that apply to an item. An answer is a `[[sighting]]` whose "
        "`about` is the question's id and whose `seen` is one of its answers, word for word:",
        "",
        "```toml",
        "[[sighting]]",
        'about = "cord-grip"',
        'seen = "knot only"',
        'photo = "photos/cord-entry.jpg"',
        'note = "pulls through with two fingers"',
        "```",
        "",
        "Anything else is kept as a note and answers nothing. Isolate and discharge before you look inside; local "
        "codes "
        "and licensed practice come first.",
    ]
    for phase, title in PHASES.items():
        lines += ["", f"## {title}", ""]
        for one in QUESTIONS:
            if one.phase == phase:
                answers = ", ".join(f"`{answer}`" for answer in one.answers)
                lines.append(f"- **`{one.id}`** {one.ask} Answers: {answers}. {one.how}{_table(one)}")
                if one.photo_first:
                    lines.append(f"  Photograph first: {one.photo_first}.")
    return "\n".join([*lines, ""])


def _table(question: Question) -> str:
    """Where to write what was found, for those who write the file by hand."""
    return f" In the record: `[[{question.table}]]`." if question.table else ""


def write(folder: Path) -> None:
    """Writes the folder anew; pages of rules that are no more are removed."""
    folder.mkdir(parents=True, exist_ok=True)
    made = pages()
    for old in folder.glob("*.md"):
        if old.name not in made:
            old.unlink()
    for name, text in made.items():
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1] if len(sys.argv) > 1 else "docs/hazards"))
