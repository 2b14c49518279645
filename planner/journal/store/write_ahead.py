"""The write-ahead log beside the journal: what stands in it, also behind a place that is damaged.

SQLite reads a log up to the first frame whose checksum is wrong and drops the rest. Here the rest
is noticed before SQLite opens the file. The format: https://sqlite.org/fileformat2.html, section 4.
"""

from __future__ import annotations

import struct
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from targets.frozen import frozen

PAGE_BYTES = 4096  # of every journal: SQLite's usual size
HEAD, FRAME_HEAD = 32, 24
ORDERS = {0x377F0682: "<", 0x377F0683: ">"}  # first number of a log: how its checksums are made


@frozen
class Frame:
    """A page as a transaction left it.

    ``pages_after`` is 0 but for the last frame of a transaction; ``is_sound`` tells whether its
    checksum is right.
    """

    number: int
    pages_after: int
    content: bytes
    is_sound: bool


def log_path(path: Path) -> Path:
    """Return where the log of a journal is."""
    return path.with_name(f"{path.name}-wal")


def read_log(path: Path) -> bytes:
    """Return what the log of a journal holds; nothing when there is none."""
    log = log_path(path)
    return log.read_bytes() if log.is_file() else b""  # reading a pipe would never end


def frames_of(log: bytes) -> tuple[Frame, ...]:
    """Return the frames that were written since the log was last begun anew, in their order."""
    if len(log) < HEAD:
        return ()
    magic, _, size, _, *_, one, two = struct.unpack_from(">8I", log)
    order = ORDERS.get(magic, "<" if sys.byteorder == "little" else ">")
    is_sound = magic in ORDERS and _checksum(order, (0, 0), log[:24]) == (one, two)
    size = size if is_sound else PAGE_BYTES
    starts = range(HEAD, len(log) - FRAME_HEAD - size + 1, FRAME_HEAD + size)
    salts = log[16:24] if is_sound else _usual(log[start + 8 : start + 16] for start in starts)
    before, found = (one, two), []
    for start in starts:
        head, content = log[start : start + 24], log[start + 24 : start + 24 + size]
        number, pages_after, _, _, one, two = struct.unpack(">6I", head)
        # Of an earlier turn, or overwritten; a single flipped bit leaves one of the two.
        if head[8:12] == salts[:4] or head[12:16] == salts[4:]:
            is_right = _checksum(order, before, head[:8] + content) == (one, two)
            found.append(Frame(number, pages_after, content, is_right and head[8:16] == salts))
        before = one, two  # what the next one was made with, even where this one is damaged
    return tuple(found)


def _usual(salts: Iterable[bytes]) -> bytes:
    return max(Counter(salts).items(), key=lambda item: item[1], default=(b"", 0))[0]


def _checksum(order: str, start: tuple[int, int], content: bytes) -> tuple[int, int]:
    one, two = start
    for first, second in struct.iter_unpack(f"{order}2I", content):
        one = (one + first + two) & 0xFFFFFFFF
        two = (two + second + one) & 0xFFFFFFFF
    return one, two


def is_log_broken(path: Path) -> bool:
    """Whether the log of a journal holds a frame with a wrong checksum, where SQLite would stop."""
    return not all(frame.is_sound for frame in frames_of(read_log(path)))


def image(content: bytes, frames: Sequence[Frame]) -> bytes:
    """Return what a file is with the transactions of a log that were finished, as one file.

    Parameters
    ----------
    content : bytes
        The file without its log.
    frames : sequence of Frame
        In their order. Those after the end of the last transaction do not count.
    """
    ends = [number for number, frame in enumerate(frames, start=1) if frame.pages_after]
    finished = frames[: ends[-1]] if ends else ()
    pages = bytearray(content)
    most = len(content) // PAGE_BYTES + len(finished) + 1  # a damaged number may be any
    for frame in finished:
        size = len(frame.content)
        if 1 <= frame.number <= most:
            end = frame.number * size
            pages.extend(bytes(max(end - len(pages), 0)))
            pages[end - size : end] = frame.content
    return without_log(bytes(pages))


def without_log(content: bytes) -> bytes:
    """Return a file marked as one that has no log, with its number of pages put right."""
    if len(content) < 100:
        return content
    head = bytearray(content[:100])
    head[18:20] = b"\1\1"
    head[28:32] = (len(content) // page_bytes(content)).to_bytes(4, "big")
    head[92:96] = head[24:28]  # says that the number of pages is right
    return bytes(head) + content[100:]


def page_bytes(content: bytes) -> int:
    """Return the size of the pages of a file by its header; the usual one where that is broken."""
    size = int.from_bytes(content[16:18], "big")
    return size if size >= 512 and size.bit_count() == 1 else PAGE_BYTES


def whole_image(path: Path) -> bytes:
    """Return a journal as SQLite sees it, log included, as one file."""
    sound = frames_of(read_log(path))
    stop = next((n for n, frame in enumerate(sound) if not frame.is_sound), len(sound))
    return image(path.read_bytes(), sound[:stop])
