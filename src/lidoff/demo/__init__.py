"""The invented items that the program ships with, as records to be written out and reported on."""

from lidoff.demo.items import NAMES, DemoError, Placed, place_item, shipped, write_items

__all__ = ["NAMES", "DemoError", "Placed", "place_item", "shipped", "write_items"]
