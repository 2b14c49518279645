"""Single fields of a table: numbers, angles, sizes, kinds and words."""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from targets.arrays import Numbers
from targets.catalogue.values import KIND_OF_TYPE
from targets.model import Kind
from targets.userlists.records import ListError

LONGEST_WORDS = 200
LONGEST_FIELD = 60  # of a number or an angle
LARGEST_NUMBER = 1e300
LARGEST_SIZE_ARCMIN = 180.0 * 60.0
HOURS_IN_A_CIRCLE = 24.0
NUMBER = re.compile(r"([+-]?)(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"([+-]?\d*),(\d+)", re.ASCII)
_NOT_A_NUMBER = {"nan", "inf", "infinity", "+inf", "-inf", "-nan", "+infinity", "-infinity"}
_NOTHING = {"", "-", "--", "---", "n/a", "nan", "null", "none", "?"}
LONGEST_SIGN = max(map(len, _NOTHING))
_STRAY = re.compile("^ | $|  ")
_STRAYS = re.compile("^ | $|  ", re.MULTILINE)
_SIZE = re.compile(r"([^xX\u00d7]+)[xX\u00d7]([^xX\u00d7]+)")
# What most tables hold: whole degrees or hours, minutes and seconds, between signs or blanks. The
# last of them may have decimals. Groups: sign, whole; mark, minutes, seconds, or minutes alone;
# letter and the same.
SIXTIES = re.compile(
    r"""([+-]?)(\d{1,3})(?:
    ([: ])(?:([0-5]?\d)\3([0-5]?\d(?:\.\d{0,20})?)|([0-5]?\d(?:\.\d{0,20})?))
    |\ ?([hd°])\ ?(?:
        ([0-5]?\d)\ ?[m'\u2032]\ ?([0-5]?\d(?:\.\d{0,20})?)\ ?[s"\u2033]?
        |([0-5]?\d(?:\.\d{0,20})?)\ ?[m'\u2032]?
    ))""",
    re.ASCII | re.VERBOSE,
)
# One axis or two, each with its unit or without.
SIZES = re.compile(
    r"""(\d{1,9}(?:\.\d{0,9})?)\ ?(['\u2032"\u2033°]?)
    (?:\ ?[xX\u00d7]\ ?(\d{1,9}(?:\.\d{0,9})?)\ ?(['\u2032"\u2033°]?))?""",
    re.ASCII | re.VERBOSE,
)
# Minutes, seconds and degrees of arc, as typed and as printed.
_SIZE_UNITS = {"'": 1.0, "\u2032": 1.0, '"': 1.0 / 60.0, "\u2033": 1.0 / 60.0, "°": 60.0}

# Kinds that a target of fixed place may have.
FIXED_KINDS = (*dict.fromkeys(KIND_OF_TYPE.values()), Kind.OTHER)
# Usual abbreviations (common practice), beside the kinds themselves and the database's codes.
_KIND_WORDS = {
    "oc": Kind.OPEN_CLUSTER, "opencl": Kind.OPEN_CLUSTER, "cluster": Kind.OPEN_CLUSTER,
    "gc": Kind.GLOBULAR_CLUSTER, "glob": Kind.GLOBULAR_CLUSTER,
    "globular": Kind.GLOBULAR_CLUSTER, "gx": Kind.GALAXY, "gal": Kind.GALAXY,
    "galaxies": Kind.GALAXY_GROUP, "galaxy cluster": Kind.GALAXY_GROUP,
    "planetary": Kind.PLANETARY_NEBULA, "en": Kind.EMISSION_NEBULA,
    "emission": Kind.EMISSION_NEBULA, "nebula": Kind.EMISSION_NEBULA,
    "neb": Kind.EMISSION_NEBULA, "gn": Kind.EMISSION_NEBULA, "bn": Kind.EMISSION_NEBULA,
    "rn": Kind.REFLECTION_NEBULA, "reflection": Kind.REFLECTION_NEBULA,
    "dn": Kind.DARK_NEBULA, "dark": Kind.DARK_NEBULA, "supernova": Kind.SUPERNOVA_REMNANT,
    "ast": Kind.ASTERISM, "ds": Kind.DOUBLE_STAR, "double": Kind.DOUBLE_STAR,
    "multiple star": Kind.DOUBLE_STAR, "variable star": Kind.STAR, "variable": Kind.STAR,
    "carbon star": Kind.STAR, "*": Kind.STAR, "other": Kind.OTHER,
}  # fmt: skip
KIND_WORDS = (
    _KIND_WORDS
    | {code.casefold(): kind for code, kind in KIND_OF_TYPE.items()}
    | {str(kind).casefold(): kind for kind in Kind}
)


def words(value: Any) -> str:
    """Return a field as plain text on one line, without blanks at the ends.

    Joiners and soft hyphens go too, other than from a name that is shown: here they hide in text
    copied from elsewhere, and would keep a designation from being found.
    """
    text = value.decode("utf-8", "replace") if isinstance(value, bytes) else str(value)
    if len(text) <= LONGEST_WORDS and text.isprintable() and not _STRAY.search(text):
        return text
    if not text.isprintable():
        text = "".join(char if char.isprintable() else " " for char in text)
    text = " ".join(text.split())
    return text if len(text) <= LONGEST_WORDS else text[: LONGEST_WORDS - 3] + "..."


def word_column(cells: Sequence[Any]) -> list[str]:
    """Return fields as `words`, empty ones and the usual signs for nothing as empty texts."""
    if set(map(type, cells)) == {str} and 4 * len(distinct := set(cells)) < len(cells):
        word_of = {cell: _word(cell) for cell in distinct}
        return [word_of[cell] for cell in cells]
    if not _are_words(cells):
        return [_word(cell) for cell in cells]
    return [
        "" if len(cell) <= LONGEST_SIGN and cell.casefold() in _NOTHING else cell for cell in cells
    ]


def _are_words(cells: Sequence[Any]) -> bool:
    """Tell whether all fields are texts that `words` would leave as they are."""
    if set(map(type, cells)) != {str} or max(map(len, cells)) > LONGEST_WORDS:
        return False
    return "".join(cells).isprintable() and not _STRAYS.search("\n".join(cells))


def _word(cell: Any) -> str:
    if type(cell) is not str:
        return "" if is_empty(cell) else words(cell)
    text = words(cell)
    return "" if len(text) <= LONGEST_SIGN and text.casefold() in _NOTHING else text


def is_empty(value: Any) -> bool:
    """Tell whether a field holds nothing, or one of the usual signs for that."""
    if isinstance(value, float):
        return math.isnan(value)
    return value is None or (isinstance(value, str) and words(value).casefold() in _NOTHING)


def is_at_most(value: Any, high: float, *, comma: bool) -> bool:
    """Tell whether a field is empty, or a number from zero to a bound."""
    try:
        return is_empty(value) or number(value, "", low=0.0, high=high, comma=comma) <= high
    except ListError:
        return False


def number(value: Any, what: str, *, low: float, high: float, comma: bool = False) -> float:
    """Read a number.

    Parameters
    ----------
    what : str
        Name of the quantity, for the message.
    low, high : float
        Bounds, both allowed.
    comma : bool
        Whether a comma may be the decimal point.

    Raises
    ------
    ListError
        With a clause that says what is allowed.
    """
    found = _float(value, what, comma=comma)
    if not low <= found <= high:
        raise ListError(f"{what} {_shown(value)} is outside {low:g} to {high:g}")
    return found


def angle_deg(value: Any, what: str, *, unit_deg: float | None, hours: bool, comma: bool) -> float:
    """Read an angle: a number in the unit of its column, or sexagesimal.

    Parameters
    ----------
    what : str
        Name of the quantity, for the message.
    unit_deg : float or None
        The column's unit [deg]; None where it gives none: degrees then, or what the field says.
    hours : bool
        Whether sexagesimal fields without a unit are in hours, as right ascensions are.
    comma : bool
        Whether a comma may be the decimal point.

    Returns
    -------
    float
        Degrees.

    Raises
    ------
    ListError
        With a clause that says what is wrong.
    """
    if not isinstance(value, str) or _is_number(value, comma=comma):
        return _float(value, what, comma=comma) * (1.0 if unit_deg is None else unit_deg)
    if unit_deg not in {None, 1.0, 15.0}:
        raise ListError(f"{what} {_shown(value)} is not a number, though its column has a unit")
    if hours and unit_deg == 1.0 and not re.search("[hHdD°]", value):
        raise ListError(f"{what} {_shown(value)} looks like hours, though its column is in degrees")
    return _sexagesimal_deg(value.replace(",", ".") if comma else value, what, hours=hours)


def plain_number(cell: Any, *, comma: bool) -> float:
    """Return a field that holds a number and nothing else: NaN where empty, infinite for others.

    What is infinite here `number` and `angle_deg` read, or say what is wrong.
    """
    if type(cell) is not str:
        is_number = type(cell) in {float, int} and abs(cell) < LARGEST_NUMBER
        return float(cell) if is_number else _nothing_or_infinite(cell)
    text = cell
    if not NUMBER.fullmatch(cell):
        text = cell.strip() if cell.isascii() and not comma else _plain(cell, comma=comma)
    if len(text) <= LONGEST_FIELD and NUMBER.fullmatch(text):
        return float(text)
    return _nothing_or_infinite(cell)


def plain_angle_deg(cell: Any, *, hours: bool, comma: bool = False) -> float:
    """Return degrees of usual sexagesimal fields: ``05:35:17.3`` or ``5h35m17s``; else infinite.

    What is infinite here `angle_deg` reads, or says what is wrong.
    """
    text = plain_signs(str(cell))
    if comma:
        text = text.replace(",", ".")
    match = SIXTIES.fullmatch(text.strip())
    if match is None:
        return math.inf
    return float(sixties_deg(match, lambda group: float(match[group] or 0.0), hours=hours))


def sixties_deg(match: re.Match[str], part: Callable[[int], Numbers], *, hours: bool) -> Numbers:
    """Put the parts of a sexagesimal field together: degrees, infinite for what is odd.

    Parameters
    ----------
    match : re.Match
        Of `SIXTIES`.
    part : callable
        Gives the number in one of its groups, 0 where that took no part.
    hours : bool
        Whether a field without a letter is in hours.
    """
    letter = match[7]
    hours = letter == "h" or (hours and letter is None)
    whole = part(2)
    minutes = next((part(group) for group in (4, 6, 8, 10) if match[group]), 0.0)
    seconds = next((part(group) for group in (5, 9) if match[group]), 0.0)
    value = whole + minutes / 60.0 + seconds / 3600.0
    is_usual = (minutes < 60.0) & (seconds < 60.0)
    if hours:
        is_usual &= whole < HOURS_IN_A_CIRCLE
    value = (-value if match[1] == "-" else value) * (15.0 if hours else 1.0)
    return np.where(is_usual, value, math.inf)


def axis_arcmin(number: Numbers, sign: str | None, unit_arcmin: float) -> Numbers:
    """Return an axis [arcmin] by the sign of its unit, or else in a unit [arcmin]."""
    return number * (_SIZE_UNITS[sign] if sign else unit_arcmin)


def _nothing_or_infinite(cell: Any) -> float:
    return math.nan if is_empty(cell) else math.inf


def size_arcmin(
    value: Any, what: str, *, unit_arcmin: float | None, comma: bool
) -> tuple[float, float | None]:
    """Read a size such as ``12``, ``12x8`` or ``40"``: major and minor axis [arcmin]."""
    text = words(value)
    parts = _SIZE.fullmatch(text)
    axes = parts.groups() if parts else (text,)
    unit = 1.0 if unit_arcmin is None else unit_arcmin
    found = sorted((_axis(axis.strip(), what, unit, comma=comma) for axis in axes), reverse=True)
    for axis in found:
        if not 0.0 < axis <= LARGEST_SIZE_ARCMIN:
            raise ListError(f"{what} {_shown(value)} is not the size of anything in the sky")
    return found[0], found[1] if len(found) == 2 else None


def kind_called(value: Any) -> Kind | None:
    """Return the kind that a word or abbreviation stands for; None when it stands for none."""
    text = " ".join(words(value).replace("_", " ").replace("-", " ").split()).casefold()
    return KIND_WORDS.get(text) or KIND_WORDS.get(text.removesuffix("s"))


def _axis(text: str, what: str, unit: float, *, comma: bool) -> float:
    for sign, arcmin in _SIZE_UNITS.items():
        if text.endswith(sign):
            text, unit = text.removesuffix(sign).strip(), arcmin
    return _float(text, what, comma=comma) * unit


def _is_number(text: str, *, comma: bool) -> bool:
    plain = _plain(text, comma=comma)
    return bool(NUMBER.fullmatch(plain)) or plain.casefold() in _NOT_A_NUMBER


def plain_signs(text: str) -> str:
    """Write minus signs and fixed blanks as keyboards do."""
    if text.isascii():
        return text
    return text.replace("\u2212", "-").replace("\u2013", "-").replace("\u00a0", " ")


def _plain(text: str, *, comma: bool) -> str:
    plain = plain_signs(text).strip()
    if comma and _DECIMAL_COMMA.fullmatch(plain):
        return plain.replace(",", ".")
    return plain


def _float(value: Any, what: str, *, comma: bool) -> float:
    plain = _plain(value, comma=comma) if isinstance(value, str) else value
    if isinstance(plain, str) and (
        len(plain) > LONGEST_FIELD or not _is_number(plain, comma=comma)
    ):
        raise ListError(f"{what} {_shown(value)} is not a number")
    try:
        found = float(plain)
    except (TypeError, ValueError, OverflowError):
        raise ListError(f"{what} {_shown(value)} is not a number") from None
    if not math.isfinite(found):
        raise ListError(f"{what} is {_shown(value)}, which is not a number")
    return found


def _sexagesimal_deg(value: str, what: str, *, hours: bool) -> float:
    usual = plain_angle_deg(value, hours=hours)
    if math.isfinite(usual):
        return usual
    from astropy import units  # noqa: PLC0415  # half a second, and few tables need it
    from astropy.coordinates import Angle  # noqa: PLC0415

    text = plain_signs(value).strip()
    try:
        if not text or len(text) > LONGEST_FIELD or not text[-1].isprintable():
            raise ValueError  # noqa: TRY301  # one message for all that is wrong
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # of 60 minutes it only warns
            found = float(Angle(text, unit=units.hourangle if hours else units.deg).deg)
    except Exception:  # noqa: BLE001  # its parser has many ways to refuse; none is told apart here
        raise ListError(
            f"{what} {_shown(value)} is not an angle; write degrees, or 05:35:17 and -05:23:28"
        ) from None
    if not math.isfinite(found):
        raise ListError(f"{what} {_shown(value)} is not an angle")
    return found


def _shown(value: Any) -> str:
    text = words(value)
    return f'"{text if len(text) <= 30 else text[:27] + "..."}"'
