"""Many names at once: the few that the catalogue may have are looked up, the others are not.

A list of a user's own has up to a million names, and most are its own. What `Index.known` would
find has to begin like a designation, or be a name without blanks and signs, or end in the name of
a constellation; whole columns are asked that at once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from targets.naming.designations import PREFIXES, SIGNS
from targets.naming.lookup import Index, number_begin
from targets.naming.star_names import star_key

# Fewer names are not worth it.
FEW = 500
# Letters before a number, as `designation_key` splits them; the groups that it knows with digits
# or a blank in them are rare, and asked one by one.
_NUMBERED = re.compile(r"(3c|sh|pn ?g|[a-z]+)[ _.-]*[+\d]", re.ASCII)
_NUMBERED_LINES = re.compile(f"^{_NUMBERED.pattern}", re.ASCII | re.MULTILINE)
_SIGNS_IN_LINES = {code: nothing for code, nothing in SIGNS.items() if chr(code) != "\n"}


def known_of(index: Index, names: Sequence[str]) -> list[int | None]:
    """Return what `Index.known` does, for many names without blanks around them.

    Parameters
    ----------
    index : Index
        Of the catalogue.
    names : sequence of str
    """
    text = "\n".join(names)
    if len(names) < FEW or not text.isascii() or text.count("\n") != len(names) - 1:
        return [index.known(name) for name in names]
    lower = text.casefold()
    keys = f"\n{lower.replace('&', 'and')}".replace("\nthe ", "\n")[1:].translate(_SIGNS_IN_LINES)
    compact = lower.replace(" ", "").split("\n")
    rows = {
        *_rows_of(compact, index.designations, index.surveys),
        *_rows_of(keys.split("\n"), index.names, index.full_names, index.short_names),
        *(row for row, name in enumerate(names) if star_key(name) is not None),
    }
    words = {word for word in _NUMBERED_LINES.findall(lower) if _begin(word) in index.begins}
    if words:
        matches = map(_NUMBERED.match, lower.split("\n"))
        rows.update(row for row, match in enumerate(matches) if match and match[1] in words)
    found: list[int | None] = [None] * len(names)
    for row in rows:
        found[row] = index.known(names[row])
    return found


def _rows_of(keys: Sequence[str], *tables: Mapping[str, int]) -> list[int]:
    """Return where those keys are that one of some tables has."""
    unique = set(keys)
    hits = {key for table in tables for key in unique & table.keys()}
    return [row for row, key in enumerate(keys) if key in hits] if hits else []


def _begin(word: str) -> str:
    return number_begin(PREFIXES.get(word, word).casefold())
