"""A whole record as lines at the end of a text element of a schema that has no place for it all.

``[fieldstop 1]`` stands on a line of its own; each line after it is the name of a field and its
value as JSON. People can read it, and reading the file again loses nothing. A block need not name
every field: those that it leaves out are what the schema's own elements say.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from planner.journal.exchange.fields import RecordField, read_fields

MARKER = "[fieldstop 1]"
SHORT = 30  # characters
_AS_JSON = json.JSONEncoder().encode


def with_block(text: str, values: Mapping[str, Any]) -> str:
    """Return a text with a block of values behind it."""
    lines = [
        f"{name} = {'null' if value is None else _AS_JSON(value)}" for name, value in values.items()
    ]
    return "\n".join([*([text] if text else []), MARKER, *lines])


def split_block(text: str) -> tuple[str, dict[str, Any] | None]:
    """Take a text and the values of its block apart.

    Returns
    -------
    text : str
        What stands before the block.
    values : dict or None
        None when there is no block.

    Raises
    ------
    ValueError
        With a sentence, when the block is damaged.
    """
    lines = text.split("\n")
    places = [number for number, line in enumerate(lines) if line.strip() == MARKER]
    if not places:
        return text, None
    values: dict[str, Any] = {}
    for line in lines[places[-1] + 1 :]:
        before, _, value = line.partition("=")
        name = before.strip()
        if name in values:
            raise ValueError(f'after {MARKER}, "{name[:40]}" stands there twice')
        try:
            values[name] = _value(value)
        except (ValueError, RecursionError):
            raise ValueError(f'after {MARKER}, "{name[:40]}" has no value in JSON') from None
    return "\n".join(lines[: places[-1]]), values


def _value(text: str) -> Any:
    # Most fields of most looks hold one of few values.
    is_short = len(text) < SHORT and "[" not in text and "{" not in text
    return _short_value(text) if is_short else json.loads(text)


@lru_cache(maxsize=10_000)
def _short_value(text: str) -> Any:
    return json.loads(text)


def read_block(fields: tuple[RecordField, ...], values: Mapping[str, Any] | None) -> dict[str, Any]:
    """Read the values of a block; fields that it does not name are not in the result.

    Raises ValueError with a sentence, when it names another field or holds what cannot be.
    """
    if not values:
        return {}
    known = {field.name: field for field in fields}
    for name in values:
        if name not in known:
            raise ValueError(f'after {MARKER}, "{name[:40]}" is not a field')
    return read_fields(tuple(known[name] for name in values), values)
