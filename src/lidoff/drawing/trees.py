"""Two-terminal networks as trees of parts in series and side by side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Leaf:
    """One part, its main path running from node `a` to node `b`."""

    ref: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Port:
    """The way into a two-port (by its name) between nodes `a` and `b`; what it feeds lies beyond."""

    name: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Series:
    """Networks one after another from node `a` to node `b`."""

    items: tuple[Tree, ...]
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Parallel:
    """Networks side by side, each from node `a` to node `b`."""

    items: tuple[Tree, ...]
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Framed:
    """A network that stands for a repeated block, drawn once in a frame."""

    block: str
    inner: Tree
    a: str
    b: str


Tree = Leaf | Port | Series | Parallel | Framed


def reversed_tree(tree: Tree) -> Tree:
    """The same network seen from its other end."""
    match tree:
        case Leaf(ref, a, b):
            return Leaf(ref, b, a)
        case Port(name, a, b):
            return Port(name, b, a)
        case Series(items, a, b):
            return Series(tuple(reversed_tree(item) for item in reversed(items)), b, a)
        case Parallel(items, a, b):
            return Parallel(tuple(reversed_tree(item) for item in items), b, a)
        case Framed(block, inner, a, b):
            return Framed(block, reversed_tree(inner), b, a)


def from_node(tree: Tree, node: str) -> Tree:
    """The network with `node` as its first end."""
    return tree if tree.a == node else reversed_tree(tree)


def in_series(first: Tree, second: Tree) -> Series:
    """Two networks that meet at the end of the first and the beginning of the second."""
    items = (
        *(first.items if isinstance(first, Series) else (first,)),
        *(second.items if isinstance(second, Series) else (second,)),
    )
    return Series(items, first.a, second.b)


def side_by_side(trees: list[Tree]) -> Parallel:
    """Networks between the same two nodes."""
    a, b = trees[0].a, trees[0].b
    items: list[Tree] = []
    for tree in trees:
        turned = from_node(tree, a)
        items += turned.items if isinstance(turned, Parallel) else (turned,)
    return Parallel(tuple(items), a, b)


def leaves(tree: Tree) -> Iterator[Leaf | Port]:
    """The parts and ports of a network, in the order of the tree."""
    match tree:
        case Series() | Parallel():
            for item in tree.items:
                yield from leaves(item)
        case Framed():
            yield from leaves(tree.inner)
        case _:
            yield tree


def has_port(tree: Tree) -> bool:
    """Whether a two-port hangs on this network."""
    return any(isinstance(leaf, Port) for leaf in leaves(tree))


def refs_of(tree: Tree) -> list[str]:
    """The refs of the parts, ports left out."""
    return [leaf.ref for leaf in leaves(tree) if isinstance(leaf, Leaf)]
