"""Tables taken from documents, as data with provenance: a module per subject, and `registry` with all of them."""

from lidoff.standards.documents import DOCUMENTS, Document, UnknownDocumentError, document
from lidoff.standards.rows import NoSuchRowError, Row, Source, Table

__all__ = ["DOCUMENTS", "Document", "NoSuchRowError", "Row", "Source", "Table", "UnknownDocumentError", "document"]
