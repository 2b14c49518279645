"""Keeps what takes time to put together, as arrays in a file of a cache folder.

A file counts only if it was made of the very same sources and nothing in it has changed since. A
folder that cannot be read or written costs the time to put things together again, nothing else.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from targets.files import FOR_THE_OWNER, Shelf, draft_of, make_folder

Arrays: TypeAlias = Mapping[str, NDArray[Any]]

_HASH_BYTES = sha256().digest_size
_HERE = Path(__file__).parent


def kept(name: str, sources: Callable[[], Iterable[Path]], make: Callable[[], Arrays]) -> Arrays:
    """Return arrays that are kept under a name; make them where they are not, and keep them.

    Parameters
    ----------
    name : str
        Of the file, without its ending.
    sources : callable
        Gives the files of which the arrays are made, the code of this package apart.
    make : callable
        Makes them; what it raises is passed on.

    Returns
    -------
    mapping of str to ndarray
        Those of a file cannot be written to.
    """
    path = None if Shelf.folder is None else Shelf.folder / f"{name}.npz"
    fingerprint = None
    if path is not None:
        with suppress(OSError):
            fingerprint = _fingerprint(sources()) + _of_the_code()
            if (found := _read(path, fingerprint)) is not None:
                return found
    arrays = make()
    if path is not None and fingerprint is not None:
        with suppress(OSError):
            _write(path, fingerprint, arrays)
    return arrays


def texts_array(texts: Iterable[str]) -> NDArray[np.uint8]:
    """Pack texts into one array; none may hold a line's end."""
    return np.frombuffer("\n".join(texts).encode(), dtype=np.uint8)


def texts_of(packed: NDArray[np.uint8]) -> list[str]:
    """Return the texts of `texts_array`, at least one."""
    return packed.tobytes().decode().split("\n")


@cache
def _of_the_code() -> bytes:
    """Return the fingerprint of this package: what it does with the sources decides as well."""
    return _fingerprint(_modules())


def _modules() -> Iterator[Path]:
    folders = [str(_HERE)]
    while folders:
        for entry in sorted(os.scandir(folders.pop()), key=lambda entry: entry.name):
            if entry.name.endswith(".py"):
                yield Path(entry.path)
            elif entry.is_dir() and not entry.name.startswith("__"):
                folders.append(entry.path)


def _fingerprint(paths: Iterable[Path]) -> bytes:
    parts = sha256()
    for path in paths:
        parts.update(sha256(path.read_bytes()).digest())
    return parts.digest()


def _read(path: Path, fingerprint: bytes) -> Arrays | None:
    """Return the arrays of a file; None where it was made of other sources, or is damaged."""
    with suppress(OSError):
        content = memoryview(path.read_bytes())
        end = len(fingerprint) + _HASH_BYTES
        body = content[end:]
        if content[:end] == fingerprint + sha256(body).digest():
            with np.load(io.BytesIO(body), allow_pickle=False) as file:
                return dict(file)
    return None


def _write(path: Path, fingerprint: bytes, arrays: Arrays) -> None:
    body = io.BytesIO()
    np.savez(body, allow_pickle=False, **arrays)
    digest = sha256(body.getbuffer()).digest()
    make_folder(path.parent)
    content = b"".join((fingerprint, digest, body.getbuffer()))
    with draft_of(path, content, rights=FOR_THE_OWNER, lasts=False) as draft:
        draft.replace(path)
