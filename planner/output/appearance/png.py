"""Pictures as PNG files (W3C 2003, "Portable Network Graphics", 2nd ed.), with zlib alone."""

from __future__ import annotations

import struct
import zlib
from base64 import b64encode

import numpy as np
from numpy.typing import NDArray

SIGNATURE = b"\x89PNG\r\n\x1a\n"
# 8 bit a channel, red green blue, the only compression and filter method, not interlaced.
DEPTH, TRUE_COLOUR = 8, 2
# Rows as differences from the row above: smooth light packs to a third.
UP = 2


def png_bytes(picture: NDArray[np.uint8]) -> bytes:
    """Return a picture, (rows, columns, 3), as the bytes of a file."""
    rows, columns, _ = picture.shape
    lines = picture.reshape(rows, columns * 3)
    above = np.vstack([np.zeros((1, columns * 3), dtype=np.uint8), lines[:-1]])
    filtered = np.hstack([np.full((rows, 1), UP, dtype=np.uint8), lines - above])
    header = struct.pack(">IIBBBBB", columns, rows, DEPTH, TRUE_COLOUR, 0, 0, 0)
    return b"".join(
        (
            SIGNATURE,
            _chunk(b"IHDR", header),
            _chunk(b"IDAT", zlib.compress(filtered.tobytes(), 6)),
            _chunk(b"IEND", b""),
        )
    )


def data_uri(picture: NDArray[np.uint8]) -> str:
    """Return a picture as an address that holds it (RFC 2397)."""
    return f"data:image/png;base64,{b64encode(png_bytes(picture)).decode('ascii')}"


def _chunk(kind: bytes, data: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(kind + data))
    return struct.pack(">I", len(data)) + kind + data + check
