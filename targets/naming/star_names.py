"""The spelling of star names: one key for each usual way to write a Bayer or Flamsteed name."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from targets.naming.constellations import GENITIVES, NAMES
from targets.naming.designations import name_key, spell_greek

GREEK = (
    "alpha", "beta", "gamma", "delta", "epsilon", "zeta", "eta", "theta", "iota", "kappa",
    "lambda", "mu", "nu", "xi", "omicron", "pi", "rho", "sigma", "tau", "upsilon", "phi", "chi",
    "psi", "omega",
)  # fmt: skip
# The usual three letters, and how the databases of professionals differ.
SHORT_GREEK = {word[:3]: word for word in GREEK} | {"alf": "alpha", "tet": "theta", "ksi": "xi"}

_HEAD = re.compile(r"([a-z]+)[ .]*0*(\d*)")
_COMPONENTS = re.compile(r"[a-f]{1,3}(?:-[a-f]{1,3})?")
# Catalogues of double stars by the two Struves, father and son, are written with a sigma.
_STRUVE = re.compile(r"(o?)\s*sigma\s*0*(\d+)")


def star_key(text: str) -> str | None:
    """Reduce a star's name to the one key of all its spellings.

    Parameters
    ----------
    text : str
        As a person types it: ``beta Cygni``, ``bet Cyg``, ``β Cyg``, ``61 cygni``,
        ``zeta Cancri AB-C``, ``Σ 2816``.

    Returns
    -------
    str or None
        The name with its Greek letter in full and the constellation as three letters, without
        blanks, in lower case, such as ``betacyg``; None when no constellation follows a name.
    """
    if text.isascii() and text[-1:].isdigit() and "sigma" not in text.casefold():
        return None  # no constellation ends in a digit
    folded = text if text.isascii() else unicodedata.normalize("NFKC", text)
    plain = spell_greek(folded.casefold()).replace("_", " ")
    if struve := _STRUVE.fullmatch(plain.strip()):
        return ("stt" if struve[1] else "stf") + struve[2]
    words = plain.split()
    if "".join(words).isalnum() and plain.isascii():  # then words are their own keys
        ends = (*words[-2:], "".join(words[-2:]), "".join(words[-3:-1]))
        if _codes().keys().isdisjoint(ends):
            return None
    components = words.pop() if len(words) > 2 and _is_components(words[-1]) else ""
    for length in (2, 1):
        code = _codes().get(name_key("".join(words[-length:])))
        if code is not None and len(words) > length:
            return _head_key(" ".join(words[:-length])) + code.casefold() + components
    return None


def star_forms(label: str) -> tuple[str, ...]:
    """Write a label such as ``beta Cyg`` with the genitive and with the Greek letter.

    Returns
    -------
    tuple of str
        ``("beta Cygni", "β Cyg")``; without the second for other letters and for numbers, and
        empty for what names no constellation.
    """
    head, _, rest = label.partition(" ")
    code, _, components = rest.partition(" ")
    if code not in GENITIVES:
        return ()
    end = f" {components}" if components else ""
    forms = [f"{head} {GENITIVES[code]}{end}"]
    letter = head.rstrip("0123456789")
    if letter in GREEK:
        greek = unicodedata.lookup(f"GREEK SMALL LETTER {letter.replace('lambda', 'lamda')}")
        forms.append(f"{greek}{head.removeprefix(letter)} {code}{end}")
    return tuple(forms)


def _is_components(word: str) -> bool:
    return _COMPONENTS.fullmatch(word) is not None and name_key(word) not in _codes()


def _head_key(head: str) -> str:
    match = _HEAD.fullmatch(head)
    if match is None:
        return head.replace(" ", "")
    letter, number = match.groups()
    return SHORT_GREEK.get(letter, letter) + number


@cache
def _codes() -> dict[str, str]:
    """From the key of each abbreviation, name and genitive to the three letters."""
    forms = [(word, code) for code, name in NAMES.items() for word in (code, name)]
    forms += [(genitive, code) for code, genitive in GENITIVES.items()]
    return {_plain(word): code for word, code in forms}


def _plain(word: str) -> str:
    return "".join(word.split()).casefold().replace("ö", "o")
