"""Puts database, corrections and additions together into the words of the catalogue."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from targets.catalogue.duplicates import Folded
from targets.catalogue.openngc import RawObjects
from targets.catalogue.texts import Texts
from targets.catalogue.values import KINDS, ORIGINS, Values
from targets.lunar import feature_names
from targets.model import Kind, Origin
from targets.naming.designations import compact, name_key
from targets.naming.solar_system import BODIES, OTHER_NAMES
from targets.tables import Row, Tables, words

ROUGH_MAGNITUDE = "OpenNGC; rough, half a magnitude off and more for many globular clusters"


def assemble_texts(raw: RawObjects, tables: Tables, folded: Folded, values: Values) -> Texts:
    """Collect names, numbers, sources and notes for every target.

    Parameters
    ----------
    raw : RawObjects
        The database as it is.
    tables : Tables
        The project's own tables.
    folded : Folded
        Which rows are targets; they come first in the catalogue, in this order.
    values : Values
        Cleaned values, to know which magnitudes were corrected.

    Returns
    -------
    Texts
        For the survivors, then the extra objects, the Moon and planets, and the Moon's features.
    """
    place = {row: index for index, row in enumerate(folded.survivors)}
    place_of_name = {raw.name[row]: index for row, index in place.items()}
    first_extra = len(place)
    first_body = first_extra + len(tables.extras)
    first_feature = first_body + len(BODIES)
    features = dict(enumerate(tables.features, start=first_feature))
    corrections = {place_of_name[line["name"]]: line for line in tables.corrections}
    lines = corrections | dict(enumerate(tables.extras, start=first_extra))
    short = [compact(name) for name in raw.name]
    labels = _labels(tables, first_extra)
    ids = _survivor_ids(short, folded, corrections)
    titles = dict(_titles(raw, tables, place_of_name))
    titles |= _column(dict(enumerate(tables.extras, start=first_extra)), "common_name")
    leads = {row: place[lead] for row, lead in folded.leads.items() if lead in place}
    return Texts(
        ids=(
            *ids,
            *(line["id"] for line in tables.extras),
            *BODIES,
            *(line["id"] for line in tables.features),
        ),
        titles=titles,
        names=[
            *((label, index) for index, label in labels.items()),
            *_names(raw, tables, titles, place | leads, first_extra, first_body),
            *feature_names(tables.features, first_feature),
        ],
        numbers=_numbers(short, folded, place, leads, ids) + _star_numbers(tables, first_extra),
        dropped=_dropped(raw, short, folded, place),
        messier={number: place[row] for number, row in folded.messier.items()},
        caldwell={number: place[row] for number, row in folded.caldwell.items()},
        identifiers=[(raw.identifiers[row], index) for row, index in (place | leads).items()],
        labels=labels | _column(features, "name"),
        size_source=_column(lines, "size_source"),
        magnitude_source=_rough_globulars(folded, values) | _column(lines, "mag_source"),
        note=_column(lines | features, "note"),
    )


def identifier(
    name: str, *, designation: str = "", messier: int | None = None, caldwell: int | None = None
) -> str:
    """Choose a target's identifier.

    Parameters
    ----------
    name : str
        The database's name as an identifier, such as ``NGC224`` or ``Mel22``.
    designation : str
        A better known number from the corrections, or an empty text.
    messier, caldwell : int or None
        Its numbers in these lists.

    Returns
    -------
    str
        The better known number if there is one, else the NGC or IC number, else the one in
        Messier's or Caldwell's list, else the database's name: ``NGC224``, ``M45``, ``Mel71``.
    """
    if designation:
        return designation
    if name.startswith(("NGC", "IC")):
        return name
    if messier is not None:
        return f"M{messier}"
    return name if caldwell is None else f"C{caldwell}"


def _column(lines: Mapping[int, Row], column: str) -> dict[int, str]:
    return {index: line[column] for index, line in lines.items() if line[column]}


def _survivor_ids(short: list[str], folded: Folded, corrections: Mapping[int, Row]) -> list[str]:
    messier = {row: number for number, row in folded.messier.items()}
    caldwell = {row: number for number, row in folded.caldwell.items()}
    better = _column(corrections, "designation")
    return [
        identifier(
            short[row],
            designation=better.get(index, ""),
            messier=messier.get(row),
            caldwell=caldwell.get(row),
        )
        for index, row in enumerate(folded.survivors)
    ]


def _titles(
    raw: RawObjects, tables: Tables, place_of_name: Mapping[str, int]
) -> Iterator[tuple[int, str]]:
    """Return the name to show: a usual name of the table, else the database's first name.

    An object in the table that has only nicknames there keeps its number as its whole name.
    """
    listed = {line["name"] for line in tables.names}
    for line in tables.names:
        if line["kind"] == "usual name":
            yield place_of_name[line["name"]], line["common_name"]
    for row, text in enumerate(raw.common_names):
        if text and raw.name[row] in place_of_name and raw.name[row] not in listed:
            yield place_of_name[raw.name[row]], words(text)[0].removeprefix("the ")


def _names(
    raw: RawObjects,
    tables: Tables,
    titles: Mapping[int, str],
    index_of_row: dict[int, int],
    first_extra: int,
    first_body: int,
) -> list[tuple[str, int]]:
    """List all common names, those with the better claim first."""
    index_of_name = {raw.name[row]: index for row, index in index_of_row.items()}
    bodies = {body: first_body + place for place, body in enumerate(BODIES)}
    found = list(bodies.items()) + [(name, bodies[body]) for name, body in OTHER_NAMES.items()]
    found += [(title, index) for index, title in titles.items()]
    known = [
        (index_of_name[line["name"]], line)
        for line in tables.names
        if line["name"] in index_of_name
    ]
    known += list(enumerate(tables.extras, start=first_extra))
    found += [(line["common_name"], index) for index, line in known if line["common_name"]]
    found += [(word, index) for index, line in known for word in words(line["also_known_as"])]
    found += _database_names(raw, tables, index_of_row)
    found += [(title.partition(" (")[0], i) for title, i in found if " (" in title]
    return _without_repeats(found)


def _database_names(
    raw: RawObjects, tables: Tables, index_of_row: dict[int, int]
) -> Iterator[tuple[str, int]]:
    wrong = {line["name"]: words(line["wrong_names"]) for line in tables.names}
    for row, text in enumerate(raw.common_names):
        if text and row in index_of_row:
            for word in words(text):
                if word not in wrong.get(raw.name[row], ()):
                    yield word.removeprefix("the "), index_of_row[row]


def _without_repeats(names: list[tuple[str, int]]) -> list[tuple[str, int]]:
    return list(
        {(name_key(name), index): (name, index) for name, index in reversed(names)}.values()
    )[::-1]


def _numbers(
    short: list[str], folded: Folded, place: dict[int, int], leads: dict[int, int], ids: list[str]
) -> list[tuple[str, int]]:
    """List the designations besides the identifiers."""
    found = [(f"M{number}", place[row]) for number, row in folded.messier.items()]
    found += [(f"C{number}", place[row]) for number, row in folded.caldwell.items()]
    found += [(short[row], index) for row, index in (place | leads).items()]
    return [(number, index) for number, index in found if number != ids[index]]


def _labels(tables: Tables, first_extra: int) -> dict[int, str]:
    """Return the designations of stars, which a blank in the identifier would not make."""
    return {
        index: line["label"]
        for index, line in enumerate(tables.extras, start=first_extra)
        if "label" in line
    }


def _star_numbers(tables: Tables, first_extra: int) -> list[tuple[str, int]]:
    """List the Hipparcos numbers of stars."""
    return [
        (f"HIP{line['hip']}", index)
        for index, line in enumerate(tables.extras, start=first_extra)
        if line.get("hip")
    ]


def _dropped(
    raw: RawObjects, short: list[str], folded: Folded, place: dict[int, int]
) -> dict[str, str]:
    """Say of what type the rows are that neither are nor lead to a target."""
    ends = ((row, folded.leads.get(row, row)) for row in range(len(short)))
    return {short[row].casefold(): raw.type[end] for row, end in ends if end not in place}


def _rough_globulars(folded: Folded, values: Values) -> dict[int, str]:
    globular, as_in_file = KINDS.index(Kind.GLOBULAR_CLUSTER), ORIGINS.index(Origin.CATALOGUE)
    return {
        index: ROUGH_MAGNITUDE
        for index, row in enumerate(folded.survivors)
        if values.kind_code[row] == globular and values.magnitude_origin_code[row] == as_in_file
    }
