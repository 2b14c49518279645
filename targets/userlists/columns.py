"""What the columns of a table hold, by their names and units."""

from __future__ import annotations

import re
from collections.abc import Sequence

from targets.frozen import frozen
from targets.userlists.records import ListError

# What a column is called, letters and digits only, without its unit (common practice).
NAMES = {
    "name": "name target targetname object objectname objname id identifier designation desig "
    "catalogue catalog catno number mainid title",
    "ra": "ra raj2000 ra2000 rightascension rightasc rect alpha rajdeg raicrs icrsra",
    "dec": "dec de dej2000 decj2000 dec2000 de2000 declination decl delta dejdeg deicrs decicrs "
    "icrsdec",
    "kind": "kind type class objecttype objtype targettype category",
    "size": "size diameter diam majoraxis major majax majaxis width dimension dimensions",
    "minor": "minoraxis minor minax minaxis height",
    "angle": "pa positionangle posangle",
    "separation": "separation sep",
    "magnitude": "magnitude mag vmag v magv vmagnitude magnitudev totalmag",
    "note": "note notes remark remarks comment comments description descr",
}
FIELDS = {word: field for field, text in NAMES.items() for word in text.split()}
# Degrees in a unit, by the words that people write; others are asked of astropy.
UNIT_WORDS = {
    1.0: "deg degs degree degrees d °",
    15.0: "h hr hrs hour hours hourangle",
    180.0 / 3.141592653589793: "rad radian radians",
    1.0 / 60.0: "arcmin arcmins arcminute arcminutes amin min ' \u2032",
    1.0 / 3600.0: "arcsec arcsecs arcsecond arcseconds asec sec \" \u2033 ''",
}
UNITS_DEG = {word: degrees for degrees, text in UNIT_WORDS.items() for word in text.split()}
ANGLES = ("ra", "dec", "size", "minor", "separation", "angle")
_BRACKETS = re.compile(r"[\[({<](.*)[\])}>]\s*$")
# Brackets that hold no unit, and those that show how hours and degrees are written.
_OUR_EQUINOX = re.compile(r"(?:j|icrs,? ?)?(?:2000(?:\.0)?)|icrs", re.IGNORECASE)
_HOURS_PATTERN = re.compile(r"h+\W*m+\W*s*(?:\.s+)?", re.IGNORECASE)
_DEGREES_PATTERN = re.compile(r"[+\-±]?d+\W*m+\W*s*(?:\.s+)?", re.IGNORECASE)
_ENDING = re.compile(r"(.*?)[\s_.-]+([A-Za-z]+)")
_OTHER_EQUINOX = re.compile(r"[bj]?(?:1950|1900|1875)(?:\.0)?|fk4", re.IGNORECASE)


@frozen
class Column:
    """A column that is understood.

    Parameters
    ----------
    place : int
        Its number, from 0.
    heading : str
        As the file has it.
    unit_deg : float or None
        Its unit [deg] where it is an angle; None where the file names none.
    """

    place: int
    heading: str
    unit_deg: float | None = None


def understand(headings: Sequence[str], units: Sequence[str | None]) -> dict[str, Column]:
    """Find out which column holds what.

    Parameters
    ----------
    headings : sequence of str
        As the file has them.
    units : sequence of str or None
        Of the columns, where the format knows units.

    Returns
    -------
    dict of str to Column
        By the words of `NAMES`; columns that are none of these are left out.

    Raises
    ------
    ListError
        For two columns of one meaning, an unknown unit, or places of another equinox.
    """
    found: dict[str, Column] = {}
    faults: list[str] = []
    for place, (heading, unit) in enumerate(zip(headings, units, strict=True)):
        field, own_unit = _meaning(_OTHER_EQUINOX.sub("", heading))
        if field is None:
            continue
        if field in {"ra", "dec"} and _OTHER_EQUINOX.search(heading):
            faults.append(f'column "{heading}" is not of J2000; convert the places first')
        elif field in found:
            faults.append(f'columns "{found[field].heading}" and "{heading}" both tell the {field}')
        else:
            try:
                found[field] = Column(place, heading, _unit_deg(field, heading, unit or own_unit))
            except ListError as error:
                faults += error.faults
    if faults:
        raise ListError(*faults)
    return found


def field_called(heading: str) -> str | None:
    """Return which of `NAMES` a heading stands for, whatever unit or equinox it names."""
    return _meaning(_OTHER_EQUINOX.sub("", heading))[0]


def _meaning(heading: str) -> tuple[str | None, str | None]:
    """Return what a heading stands for, and the unit that it names."""
    bracket = _BRACKETS.search(heading)
    if bracket:
        return _field(heading[: bracket.start()]), _unit_in_bracket(bracket[1].strip())
    if (field := _field(heading)) is not None:
        return field, None
    ending = _ENDING.fullmatch(heading.strip())
    if ending and ending[2].casefold() in UNITS_DEG:
        return _field(ending[1]), ending[2]
    if ending and ending[2].casefold() == "mag":
        return _field(ending[1]), None
    return None, None


def _unit_in_bracket(text: str) -> str | None:
    if not text or _OUR_EQUINOX.fullmatch(text):
        return None
    if _HOURS_PATTERN.fullmatch(text):
        return "h"
    return "deg" if _DEGREES_PATTERN.fullmatch(text) else text


def _field(text: str) -> str | None:
    return FIELDS.get("".join(char for char in text.casefold() if char.isalnum()))


def _unit_deg(field: str, heading: str, unit: str | None) -> float | None:
    if field not in ANGLES or unit is None:
        return None
    if (known := UNITS_DEG.get(unit.casefold())) is not None:
        return known
    from astropy import units  # noqa: PLC0415  # half a second, and few tables need it

    try:
        return float(units.Unit(unit).to(units.deg))
    except Exception:  # noqa: BLE001  # whatever it says, the unit is none
        raise ListError(
            f'column "{heading}": "{unit}" is not a unit of angle; allowed are deg, hours, arcmin,'
            " arcsec, rad"
        ) from None
