"""Solder mask: what hides a track where it leaves its pad is unknown there, neither copper nor gap."""

from __future__ import annotations

import cv2
import numpy as np

from lidoff.photos.masked import under_mask
from lidoff.photos.pads import Springs
from lidoff.photos.reading import Reading
from lidoff.photos.views import View


def test_ink_across_the_rim_of_a_pad_hides_what_lies_under_it() -> None:
    """Bare metal of two pads, and a stroke of ink just beyond the first one's edge."""
    bare = np.zeros((200, 300), np.uint8)
    labels = np.zeros((200, 300), np.int32)
    for number, x in enumerate((80, 220)):
        cv2.circle(bare, (x, 100), 20, 1, -1)
        cv2.circle(labels, (x, 100), 3, number + 1, -1)
    bare[70:130, 108:113] = 1
    plain = np.where(bare > 0, 1.0, -1.0).astype(np.float32)
    metal = Reading(
        view=View(
            name="metal",
            plain=plain,
            sharp=plain,
            contrast=20.0,
            unknown=np.zeros((200, 300), bool),
            weights=(1.0, 0.0, 0.0),
            middle=0.0,
        ),
        springs=Springs(labels=labels, unsure=frozenset()),
        passes=(),
        unsure=0.0,
        lone=1.0,
        largest=0.5,
        accepted=0.0,
        between=0.0,
        pieces=2,
        one_piece=False,
    )
    colours = np.random.default_rng(3).normal(40, 2, (200, 300, 3)).astype(np.float32)
    shades = under_mask(colours, np.ones((200, 300), bool), metal)
    assert shades
    for shade in shades:
        assert shade.layers.near_pad[100, 104]  # within the rim, beside the stroke
        assert shade.layers.other[100, 104]
        assert not shade.layers.other[100, 80]  # the pad's own metal
        assert not shade.layers.other[100, 54]  # its rim on the side without ink
        assert not shade.layers.other[100, 246]
