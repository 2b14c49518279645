"""Single fields of a table: numbers, angles, sizes, kinds and words."""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Sequence
from typing import Any

from targets.catalogue.values import KIND_OF_TYPE
from targets.model import Kind
from targets.userlists.records import ListError

LONGEST_WORDS = 200
LONGEST_FIELD = 60  # of a number or an angle
LARGEST_NUMBER = 1e300
HOURS_IN_A_CIRCLE = 24.0
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"([+-]?\d*),(\d+)", re.ASCII)
_NOT_A_NUMBER = {"nan", "inf", "infinity", "+inf", "-inf", "-nan", "+infinity", "-infinity"}
_NOTHING = {"", "-", "--", "---", "n/a", "nan", "null", "none", "?"}
LONGEST_SIGN = max(map(len, _NOTHING))
_STRAY = re.compile("^ | $|  ")
_MINUS = str.maketrans({"\u2212": "-", "\u2013": "-", "\u00a0": " "})
_SIZE = re.compile(r"([^xX\u00d7]+)[xX\u00d7]([^xX\u00d7]+)")
# What most tables hold: whole degrees or hours, minutes and seconds, between colons or blanks.
_SIXTIES = re.compile(
    r"([+-]?)(\d{1,3})(?:([: ])([0-5]?\d)\3|([hd]) ?([0-5]?\d)m ?)([0-5]?\d(?:\.\d{0,20})?)(s?)",
    re.ASCII,
)
_PLAIN_SIZE = re.compile(r"(\d{1,9}(?:\.\d{0,9})?) ?[xX\u00d7] ?(\d{1,9}(?:\.\d{0,9})?)", re.ASCII)
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
    found = []
    for cell in cells:
        text = words(cell) if type(cell) is str else "" if is_empty(cell) else words(cell)
        is_sign = len(text) <= LONGEST_SIGN and type(cell) is str and text.casefold() in _NOTHING
        found.append("" if is_sign else text)
    return found


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
    if not _NUMBER.fullmatch(cell):
        text = cell.strip() if cell.isascii() and not comma else _plain(cell, comma=comma)
    if len(text) <= LONGEST_FIELD and _NUMBER.fullmatch(text):
        return float(text)
    return _nothing_or_infinite(cell)


def plain_angle_deg(cell: Any, *, hours: bool, comma: bool = False) -> float:
    """Return degrees of usual sexagesimal fields: ``05:35:17.3`` or ``5h35m17s``; else infinite.

    What is infinite here `angle_deg` reads, or says what is wrong.
    """
    text = str(cell).replace(",", ".") if comma else str(cell)
    match = _SIXTIES.fullmatch(text.strip())
    if match is None:
        return math.inf
    sign, whole, between, minutes, letter, more_minutes, seconds, end = match.groups()
    hours = letter == "h" or (hours and letter is None)
    if (hours and float(whole) >= HOURS_IN_A_CIRCLE) or (end and between):
        return math.inf
    value = float(whole) + float(minutes or more_minutes) / 60.0 + float(seconds) / 3600.0
    return (-value if sign == "-" else value) * (15.0 if hours else 1.0)


def plain_axes(cell: Any) -> tuple[float, float] | None:
    """Return the numbers of a field such as ``12x8``, the larger one first; else None."""
    match = _PLAIN_SIZE.fullmatch(cell) if type(cell) is str else None
    if match is None:
        return None
    one, other = float(match[1]), float(match[2])
    return (one, other) if one >= other else (other, one)


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
        if not 0.0 < axis <= 180.0 * 60.0:
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
    return bool(_NUMBER.fullmatch(plain)) or plain.casefold() in _NOT_A_NUMBER


def _plain(text: str, *, comma: bool) -> str:
    plain = text.translate(_MINUS).strip()
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
    usual = plain_angle_deg(value.translate(_MINUS), hours=hours)
    if math.isfinite(usual):
        return usual
    from astropy import units  # noqa: PLC0415  # half a second, and few tables need it
    from astropy.coordinates import Angle  # noqa: PLC0415

    text = value.translate(_MINUS).strip()
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
