"""Records to bytes and back (msgspec), and words packed small."""

from __future__ import annotations

import zlib
from collections.abc import Sequence

import msgspec

from kbindex.records import Job, Told, Word


def pack_told(told: Told) -> bytes:
    """Pack what a document tells."""
    return zlib.compress(msgspec.json.encode(told))


def unpack_told(data: bytes) -> Told:
    """Unpack what `pack_told` packed."""
    return msgspec.json.decode(zlib.decompress(data), type=Told)


def pack_job(job: Job) -> bytes:
    """Pack a job as JSON."""
    return msgspec.json.encode(job)


def unpack_job(data: bytes) -> Job:
    """Unpack what `pack_job` packed."""
    return msgspec.json.decode(data, type=Job)


def pack_words(words: Sequence[Word]) -> bytes:
    """Pack a recording's words."""
    return zlib.compress(msgspec.json.encode([(w.text, w.start_s, w.end_s, w.probability) for w in words]))


def unpack_words(data: bytes) -> tuple[Word, ...]:
    """Unpack what `pack_words` packed."""
    rows = msgspec.json.decode(zlib.decompress(data), type=list[tuple[str, float, float, float | None]])
    return tuple(Word(*row) for row in rows)
