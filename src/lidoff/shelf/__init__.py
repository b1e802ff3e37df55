"""The collection: an index of record folders that can be searched, compared and counted, and made anew at any time.

    index = index_path(None, os.environ)
    add(index, [Path("demo")])                                  # -> Report
    find(index, understand("strips over 8 W with flicker over 80 %"))   # -> Found
    count(index, "how many plug fuses had no filler")           # -> Count, whose picture is bars_svg(count)

Every result is a plain frozen value with `as_json()`; nothing here keeps a connection open or a state of its own.
"""

from lidoff.shelf.asking import from_options
from lidoff.shelf.charts import NARROW, WIDE, Dot, bars_svg, dots_svg
from lidoff.shelf.comparing import Comparison, Row, compare
from lidoff.shelf.counting import SUBJECTS, Bar, Count, count
from lidoff.shelf.entry import Depth, Entry
from lidoff.shelf.errors import PackError, QueryError, ShelfError
from lidoff.shelf.indexing import Report, Step, Watch, add, forget, rebuild, renew
from lidoff.shelf.listing import Cell, Listed, Listing, listed
from lidoff.shelf.measures import MEASURES, Measure, measure
from lidoff.shelf.packing import Packed, pack
from lidoff.shelf.picturing import picture, pictures
from lidoff.shelf.places import read_places
from lidoff.shelf.query import EVERYTHING, Query
from lidoff.shelf.search import Found, Hit, Place, find, main_figures, meant
from lidoff.shelf.sentence import understand
from lidoff.shelf.standing import Behind, behind
from lidoff.shelf.unpacking import Unpacked, unpack
from lidoff.shelf.where import VARIABLE, folders_path, index_path
from lidoff.shelf.working import LEFT_OUT

__all__ = [
    "EVERYTHING",
    "LEFT_OUT",
    "MEASURES",
    "NARROW",
    "SUBJECTS",
    "VARIABLE",
    "WIDE",
    "Bar",
    "Behind",
    "Cell",
    "Comparison",
    "Count",
    "Depth",
    "Dot",
    "Entry",
    "Found",
    "Hit",
    "Listed",
    "Listing",
    "Measure",
    "PackError",
    "Packed",
    "Place",
    "Query",
    "QueryError",
    "Report",
    "Row",
    "ShelfError",
    "Step",
    "Unpacked",
    "Watch",
    "add",
    "bars_svg",
    "behind",
    "compare",
    "count",
    "dots_svg",
    "find",
    "folders_path",
    "forget",
    "from_options",
    "index_path",
    "listed",
    "main_figures",
    "meant",
    "measure",
    "pack",
    "picture",
    "pictures",
    "read_places",
    "rebuild",
    "renew",
    "understand",
    "unpack",
]
