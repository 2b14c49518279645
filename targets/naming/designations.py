"""The spelling of designations and names: one key for each usual way to write them."""

from __future__ import annotations

import re
import unicodedata

# What people write before a number, and the prefix that stands for it in an identifier.
# The abbreviations are common practice; "Cl" is the catalogue file's own word for Collinder.
PREFIXES = {
    "m": "M",
    "messier": "M",
    "c": "C",
    "caldwell": "C",
    "ngc": "NGC",
    "n": "NGC",
    "ic": "IC",
    "i": "IC",
    "b": "B",
    "barnard": "B",
    "h": "H",
    "harvard": "H",
    "cr": "Cr",
    "col": "Cr",
    "coll": "Cr",
    "collinder": "Cr",
    "cl": "Cr",
    "mel": "Mel",
    "melotte": "Mel",
    "tr": "Tr",
    "trumpler": "Tr",
    "ru": "Ru",
    "ruprecht": "Ru",
    "st": "Stock",
    "stock": "Stock",
    "blanco": "Blanco",
    "roslund": "Roslund",
    "pal": "Pal",
    "palomar": "Pal",
    "abell": "Abell",
    "terzan": "Terzan",
    "ter": "Terzan",
    "ldn": "LDN",
    "lynds": "LDN",
    "lbn": "LBN",
    "sh": "Sh2-",
    "sh2": "Sh2-",
    "sharpless": "Sh2-",
    "hcg": "HCG",
    "hickson": "HCG",
    "3c": "3C",
    "ugc": "UGC",
    "ugca": "UGCA",
    "pgc": "PGC",
    "leda": "PGC",
    "eso": "ESO",
    "mcg": "MCG",
    "mwsc": "MWSC",
    "pk": "PK",
    "struve": "STF",
    "pn g": "PN G",
    "png": "PN G",
}

_LEADING_ZEROS = re.compile(r"(?<![\d.])0+(?=\d)")
_DESIGNATION = re.compile(r"(3c|sh(?:arpless)?[\s_-]*2(?=[\s_-])|pn\s?g|[a-z]+)[\s_.-]*([+\d].*)")
_PARTS = re.compile(r"\d+(?:\.\d+)?|[a-z]+|\+")
_COMPACT = re.compile(r"(3C|Sh2-|[A-Za-z]+)(\d.*)")
_MEMBER = re.compile(r"NED0*(\d+)$")
# The dashes and the minus sign that keyboards and pages put for a hyphen.
_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212", "-"))

# All of ASCII that is neither letter nor digit, to be left out.
SIGNS = {code: None for code in range(128) if not chr(code).isalnum()}


def compact(name: str) -> str:
    """Write a designation of the database as an identifier: ``NGC0224`` -> ``NGC224``."""
    short = _LEADING_ZEROS.sub("", name.replace(" ", ""))
    return "Cr" + short[2:] if short.startswith("Cl") else short


def spaced(identifier: str) -> str:
    """Write an identifier as observers do: ``NGC 224``, ``Mel 20``; but ``M31``, ``B33``."""
    match = _COMPACT.fullmatch(identifier)
    if match is None:
        return identifier
    prefix, number = match.groups()
    number = _MEMBER.sub(r" NED\1", number)
    return prefix + number if len(prefix) == 1 or prefix == "Sh2-" else f"{prefix} {number}"


def designation_key(text: str) -> str | None:
    """Reduce a designation to the one key of all its spellings.

    Parameters
    ----------
    text : str
        As a person types it: ``m31``, ``Messier 31``, ``NGC-0224``, ``sh 2-155``.

    Returns
    -------
    str or None
        An identifier without blanks and zero padding in lower case, such as ``ngc224``; None
        when the text is not some letters followed by a number.
    """
    plain = text.casefold().strip()
    if not text.isascii():
        plain = unicodedata.normalize("NFKC", text).translate(_DASHES).casefold().strip()
    match = _DESIGNATION.fullmatch(plain)
    if match is None:
        return None
    word, rest = match.groups()
    word = "sh2" if word.startswith("sh") and word.endswith("2") else word
    return PREFIXES.get(word, word).casefold() + _number_key(rest)


def _number_key(rest: str) -> str:
    key = ""
    for part in _PARTS.findall(rest):
        glue = "-" if key[-1:].isdigit() and part[0].isdigit() else ""
        key += glue + (_LEADING_ZEROS.sub("", part) if part[0].isdigit() else part)
    return key


def name_key(text: str) -> str:
    """Reduce a common name to its letters and digits: ``The Cat's Eye`` -> ``catseye``."""
    spelled = text.casefold().replace("&", "and")
    if not spelled.isascii():
        spelled = spell_greek(unicodedata.normalize("NFKD", spelled))
    spelled = spelled.strip().removeprefix("the ")
    if spelled.isascii():
        return spelled if spelled.isalnum() else spelled.translate(SIGNS)
    return "".join(filter(str.isalnum, spelled))


def spell_greek(text: str) -> str:
    """Write the small Greek letters of a text as words: ``β Cyg`` -> ``beta Cyg``."""
    return text if text.isascii() else "".join(map(_spelled, text))


def _spelled(char: str) -> str:
    """Spell a Greek letter: Unicode knows their names, but writes "lamda"."""
    name = unicodedata.name(char, "")
    if not name.startswith("GREEK SMALL LETTER"):
        return char
    return name.rpartition(" ")[2].casefold().replace("lamda", "lambda")
