"""What parts form: rectifiers, droppers, dimmers, LED strings … read from the connections alone.

    groups = recognise(circuit)
    groups.best                # each with its title, the roles of its parts, figures, a reason and remarks
    groups.sentence            # "These three parts belong to nothing I know: …"

Each family of groups is one module of `families`, with the tiny records that are its tests and its documentation.
"""

from lidoff.circuit.groups.model import Example, Family, Group, Groups
from lidoff.circuit.groups.recognise import recognise
from lidoff.circuit.groups.registry import FAMILIES

__all__ = ["FAMILIES", "Example", "Family", "Group", "Groups", "recognise"]
