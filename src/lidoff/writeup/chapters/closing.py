"""Cautions, what was not looked at, and how to run it again."""

from __future__ import annotations

from typing import Final

from lidoff.account import STAGES, Account
from lidoff.circuit.groups.words import counted
from lidoff.quantity import engineering
from lidoff.studies.unplug import LEVELS
from lidoff.writeup.blocks import Block, Caution, Code, Heading, Listing, Origins, Paragraph, Run, Strong, Text
from lidoff.writeup.chapters.summary import charged
from lidoff.writeup.words import capital, listed, state_name

_SHORT: Final = 6  # points of a list in the short form
_TRIPS: Final = {"US": ("GFCI", "4 to 6 mA"), "": ("RCD", "30 mA")}


ORIGINS: Final = {
    "measured": "was read from a meter or an instrument.",
    "recorded": "was written down by whoever opened the item: counted, seen, or from a label.",
    "marked": "was decoded from what is printed on a part.",
    "computed": "follows from the circuit as recorded, solved through one mains cycle.",
    "inferred": "is what the readings, taken together, make of a value that nobody wrote down.",
    "assumed": "is a default or common practice, put in where nobody wrote anything.",
}
"""What each origin of a figure means."""


def cautions(account: Account) -> list[Block]:
    """What to do before anything is touched, and what two common helpers do and do not do."""
    return [*_touching(account), _helpers(account), _never_safe()]


def short_cautions(account: Account) -> list[Block]:
    """What to do before anything is touched."""
    return [*_touching(account), _never_safe()]


def _touching(account: Account) -> list[Block]:
    return [
        Heading(text="Cautions", id="cautions"),
        *_card(account),
        Caution(
            title="Before anything is touched",
            items=(
                (
                    Strong(text="Isolate."),
                    " Pull the plug and keep it in sight. A switch, a dimmer or a remote control is not a "
                    "disconnection.",
                ),
                _discharge(account),
                (
                    Strong(text="No bare live parts."),
                    " Whatever is powered is closed or covered first. Clip leads on while it is dead, stand back, then "
                    "switch on; never probe inside while it is on the mains.",
                ),
                (
                    Strong(text="One hand, and not alone."),
                    " Where something must be near a powered item, one hand stays away from it; no rings, no bare "
                    "feet, somebody near who knows where to switch off.",
                ),
                (
                    Strong(text="Local codes and licensed practice come first."),
                    " Who may open, repair or wire mains equipment is laid down where you live. Where you are not "
                    "sure, ask a licensed electrician.",
                ),
            ),
        ),
    ]


def _helpers(account: Account) -> Listing:
    name, trips = _TRIPS.get(account.item.region or "", _TRIPS[""])
    residual = (
        "A residual-current device (GFCI, elsewhere called RCD)"
        if name == "GFCI"
        else "A residual-current device (RCD)"
    )
    return Listing(
        items=(
            (
                Strong(text=residual),
                f" switches off when current goes astray, through a person to earth for instance, usually at "
                f"{trips}. "
                "It does not limit that current until it acts, it does nothing for somebody between live and "
                "neutral, and it is blind to everything behind an isolating transformer.",
            ),
            (
                Strong(text="An isolating transformer"),
                " takes away the tie to earth, so that touching one conductor closes no circuit through the "
                "body. It does nothing for somebody who touches both, it hides the first fault to earth, and one "
                "earthed instrument on the board undoes it. Two items on one transformer undo it as well.",
            ),
        )
    )


def _never_safe() -> Paragraph:
    return Paragraph(
        text=(
            Strong(text="Nothing in this write-up says that the item is safe."),
            " It says what was looked at and what was not. A figure within its rating is a computed figure "
            "within a rating, and no more.",
        )
    )


def _card(account: Account) -> list[Block]:
    """What is live in this item and what holds charge, from its bench card."""
    card = account.card
    if card is None or not card.known or not card.sentences:
        return []
    return [Caution(title="This item", items=tuple((each,) for each in card.sentences))]


def _discharge(account: Account) -> Text:
    held = charged(account)
    found: list[Run] = [Strong(text="Discharge.")]
    if held:
        found.append(f" In the computed circuit {listed(decay.what for decay in held)} still")
        found.append(" hold " if len(held) > 1 else " holds ")
        # The level is a limit that is looked for, and comes from nobody's record: it bears no mark.
        found.append(f"more than {engineering(LEVELS[0], 'V', 2)} when the plug comes out.")
    found.append(
        " Wait, then measure across every large capacitor with a meter that was tried on a known voltage before and "
        "after. Discharge through a resistor with insulated leads, never with a screwdriver."
    )
    return tuple(found)


def not_looked_at(account: Account) -> list[Block]:
    """What was skipped and why, what the record leaves open, and what this program cannot see at all."""
    return [
        Heading(text="What was not looked at", id="not-looked-at"),
        Paragraph(text=("An account is worth what it looked at. This one did not look at the following.",)),
        Listing(items=tuple(_unseen(account))),
    ]


def short_not_looked_at(account: Account) -> list[Block]:
    """The same, cut to what matters most, with the number of the rest."""
    items = _unseen(account)
    shown, left = items[:_SHORT], len(items) - _SHORT
    blocks: list[Block] = [
        Heading(text="What was not looked at", id="not-looked-at"),
        Listing(items=tuple(shown)),
    ]
    if left > 0:
        blocks.append(Paragraph(text=(f"{capital(counted(left))} more in the full form.",), style="note"))
    return blocks


def _unseen(account: Account) -> list[Text]:
    items: list[Text] = []
    for one in account.skipped:
        where = f", {state_name(one.state)}" if one.state is not None else ""
        items.append((Strong(text=f"{STAGES.get(one.stage, one.stage).capitalize()}{where}."), f" {one.why}"))
    items += [(sentence,) for sentence in account.missing]
    if account.findings is not None:
        items += [(sentence,) for sentence in account.findings.skipped]
        unseen = [one.rpartition(" (")[0] or one for one in account.findings.not_looked_at]
        if unseen:
            items.append((Strong(text="Questions of the look list without an answer:"), f" {'; '.join(unseen)}."))
    items += [(sentence,) for sentence in _standing(account)]
    return items


def _standing(account: Account) -> list[str]:
    """What no record holds, or what is not worked out here."""
    found = [
        "The connections are those in the record. Nobody checked them against the board here, nor solder joints, "
        "cracks or tracking.",
        "Heat: powers are computed, temperatures are not. A part within its power rating may still be too hot where "
        "it sits.",
        "Surges, dips and other disturbances on the mains were not applied.",
        "Ageing: every part is taken as its value says, not as years of heat have left it.",
    ]
    if account.faults is None:
        found.append("Parts failed open or short, one at a time, were not worked through.")
    else:
        found.append("Two faults at once were not worked through.")
        found += account.faults.undecided
    kinds = {one.part.kind for one in account.parts}
    if "converter" in kinds:
        found.append(
            "What lies behind the switch-mode part, its insulation to the output above all, is not in this circuit."
        )
    if account.item.protection_class == "I":
        found.append("The earth connection was not measured here, unless a reading above says so.")
    return found


def again(account: Account) -> list[Block]:
    """How to get the same account again, and where its figures come from."""
    path = account.item.path.resolve()
    name = path.parent.name if path.name == "item.toml" else path.name
    return [
        Heading(text="Where the figures come from, and how to run it again", id="again"),
        Paragraph(text=("The small letter at a number says where it comes from.",)),
        Origins(meanings=tuple(ORIGINS.items())),
        Paragraph(
            text=(
                "No figure is shown to more digits than its span bears. The span moves every input to both ends of "
                "its range, one at a time, and adds the effects as a root of squares; the solver's own error is "
                "taken as half a percent.",
            )
        ),
        Code(text=f"lidoff report {name}"),
        Paragraph(
            text=(
                f"With lidoff {account.version} and a record of the fingerprint below, whatever its comments and "
                f"layout, "
                "this gives the same account.",
            )
        ),
        Code(text=account.fingerprint),
        Paragraph(text=("Whether another version, or a changed record, gives other figures, and which, is told by",)),
        Code(text=f"lidoff report {name} --verify"),
    ]
