"""Accounts remembered while a program runs."""

from __future__ import annotations

from collections import OrderedDict

from lidoff.account.fingerprint import fingerprint
from lidoff.account.model import Account
from lidoff.account.taking import take
from lidoff.record import Item


class Accountant:
    """Takes accounts and remembers the last `keep` of them by the fingerprint of their records.

    What it remembers belongs to it alone and goes when it goes.
    """

    def __init__(self, keep: int = 16) -> None:
        self.keep = keep
        self._kept: OrderedDict[tuple[str, str], Account] = OrderedDict()

    def account(self, item: Item) -> Account:
        """The account of an item, taken anew only where its record, or a recording of it, has changed."""
        # The path counts too: two folders may hold the same record, and an account says whose it is.
        key = (fingerprint(item), str(item.path))
        if key in self._kept:
            self._kept.move_to_end(key)
        else:
            self._kept[key] = take(item)
            while len(self._kept) > self.keep:
                self._kept.popitem(last=False)
        return self._kept[key]
