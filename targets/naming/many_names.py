"""Many names at once: the few that the catalogue may have are looked up, the others are not.

A list of a user's own has up to a million names, and most are its own. What `Index.known` would
find has to begin like a designation, or be a name without blanks and signs, or end in the name of
a constellation; whole columns are asked that at once.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from targets.naming.designations import PREFIXES, SIGNS
from targets.naming.lookup import Index, number_begin
from targets.naming.star_names import star_key

# Fewer names are not worth it.
FEW = 500
# Letters before a number, as `designation_key` splits them; the groups that it knows with digits
# or a blank in them are rare, and asked one by one.
_NUMBERED = re.compile(r"(3c|sh|pn\s?g|[a-z]+)[\s_.-]*[+\d].*")
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
    found: list[int | None] = []
    for name, plain, joined, key in zip(
        names, lower.split("\n"), compact, keys.split("\n"), strict=True
    ):
        numbered = _NUMBERED.fullmatch(plain)
        may_be_known = (
            (
                numbered is not None
                and number_begin(PREFIXES.get(numbered[1], numbered[1]).casefold()) in index.begins
            )
            or joined in index.designations
            or joined in index.surveys
            or key in index.names
            or key in index.full_names
            or key in index.short_names
            or star_key(name) is not None
        )
        found.append(index.known(name) if may_be_known else None)
    return found
