"""The write-up of an item: an account as one list of blocks, and what it is rendered to.

document = compose(account)         # titles, texts, tables and pictures, without markup
render(document)                    # one self-contained HTML page
write(account, folder)              # report.html, report.json and figures.csv
"""

from lidoff.writeup.blocks import Document
from lidoff.writeup.compose import CHAPTERS, compose
from lidoff.writeup.files import WriteupError, Written, write
from lidoff.writeup.html import render

__all__ = ["CHAPTERS", "Document", "WriteupError", "Written", "compose", "render", "write"]
