"""Reads the JSON document of a journal item by item, or says what is wrong with it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Generator, Iterator
from typing import Any

from planner.journal.exchange.lines import MOST_LINES, ExchangeError
from planner.text import show

SCHEMA = "fieldstop.journal/1"
_BLANKS = re.compile("[ \t\n\r]*")

Json = dict[str, Any]


def json_document(text: str) -> tuple[Json, int, Iterator[Any]]:
    """Return a document without its entries, how many they are, and what reads them one by one.

    The text is gone through twice, so that the entries need not be in the memory at once.
    """
    found: Json = {"sessions": []}
    counts = dict.fromkeys(("schema", "sessions", "entries"), 0)
    try:
        for key, value in _items_of(text):
            counts[key] += 1
            if key == "sessions":
                found[key].append(value)
            elif key == "schema":
                found[key] = value
    except (_OddError, ValueError, RecursionError):
        odd = True
    else:
        odd = (found.get("schema"), counts["schema"]) != (SCHEMA, 1)
        odd |= max(counts.values()) > MOST_LINES
    if odd:  # damaged, or not as we write it
        found = _whole_document(text)
        return found, len(found["entries"]), iter(found.pop("entries"))
    return found, counts["entries"], (value for key, value in _items_of(text) if key == "entries")


class _OddError(ValueError):
    """A document is not as `journal_json` makes it; it may be right all the same."""


def _items_of(text: str) -> Iterator[tuple[str, Any]]:
    """Return each item of the lists of a document, and each other value, with its key."""
    decode = json.JSONDecoder(parse_constant=_no_number, object_pairs_hook=_no_twins).raw_decode
    keys: set[str] = set()
    place = _after(text, 0, "{")
    while text[place : place + 1] == '"':
        key, place = decode(text, place)
        place = _after(text, place, ":")
        if key in keys or key not in {"schema", "sessions", "entries"}:
            raise _OddError(key)
        keys.add(key)
        if key == "schema":
            value, place = decode(text, place)
            yield key, value
        else:
            place = yield from _items_of_list(text, place, key, decode)
        if text[(place := _blank(text, place)) : place + 1] != ",":
            break
        place = _after(text, place, ",")
    if _after(text, place, "}") != len(text) or keys != {"schema", "sessions", "entries"}:
        raise _OddError(text[place : place + 1])


def _items_of_list(
    text: str, place: int, key: str, decode: Callable[[str, int], tuple[Any, int]]
) -> Generator[tuple[str, Any], None, int]:
    """Return each item of a list, and in the end the place behind it."""
    place = _after(text, place, "[")
    if text[place : place + 1] == "]":
        return place + 1
    while True:
        value, place = decode(text, place)
        yield key, value
        if text[(place := _blank(text, place)) : place + 1] != ",":
            return _after(text, place, "]")
        place = _after(text, place, ",")


def _blank(text: str, place: int) -> int:
    match = _BLANKS.match(text, place)
    assert match is not None  # noqa: S101  # no blank at all matches too
    return match.end()


def _after(text: str, place: int, sign: str) -> int:
    """Return the place of what follows a sign that has to be next."""
    place = _blank(text, place)
    if text[place : place + 1] != sign:
        raise _OddError(sign)
    return _blank(text, place + 1)


def _whole_document(text: str) -> Json:
    try:
        document = json.loads(text, parse_constant=_no_number, object_pairs_hook=_no_twins)
    except RecursionError:
        raise ExchangeError("The JSON file is nested too deeply to be a journal.") from None
    except json.JSONDecodeError as error:
        raise ExchangeError(
            f"The JSON file is damaged, line {error.lineno}: {error.msg}."
        ) from None
    except ValueError as error:
        raise ExchangeError(f"The JSON file cannot be read: {error}.") from None
    if not isinstance(document, dict) or "schema" not in document:
        raise ExchangeError(f'The JSON file has no key "schema"; expected is "{SCHEMA}".')
    if document["schema"] != SCHEMA:
        raise ExchangeError(
            f'The JSON file is of the schema {show(document["schema"])}; expected is "{SCHEMA}".'
        )
    for key in ("entries", "sessions"):
        if not isinstance(document.get(key, None if key == "entries" else []), list):
            raise ExchangeError(f'The JSON file has no list under the key "{key}".')
        if len(document.get(key, ())) > MOST_LINES:
            raise ExchangeError(
                f'The JSON file has more than {MOST_LINES:,} items under the key "{key}", which no '
                "journal has."
            )
    return document


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is not a number in JSON")


def _no_twins(pairs: list[tuple[str, Any]]) -> Json:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twin = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the key {show(twin)} stands twice in one object")
    return found
