"""What an account was made from, as one short text: a record gives the same whatever its comments and layout."""

from __future__ import annotations

import contextlib
import hashlib

from lidoff.record import Item, dump


def fingerprint(item: Item) -> str:
    """SHA-256 over the record as understood, its recordings' files and its trace, as 64 hexadecimal digits.

    A recording that is not there counts as such; nothing is raised for it.
    """
    digest = hashlib.sha256()
    digest.update(dump(item).encode())
    for recording in item.recordings:
        digest.update(b"\0recording\0" + recording.file.encode() + b"\0")
        try:
            digest.update(hashlib.sha256((item.folder / recording.file).read_bytes()).digest())
        except OSError:
            digest.update(b"not there")
    with contextlib.suppress(OSError):  # what was traced on the photos says which joins a finding may rest on
        digest.update(b"\0trace\0" + hashlib.sha256((item.folder / "trace.json").read_bytes()).digest())
    return digest.hexdigest()
