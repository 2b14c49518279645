"""Which database rows are targets, and to which target the other rows lead."""

from __future__ import annotations

import re
from collections import defaultdict

import numpy as np

from targets.catalogue.cleaning import summed_magnitude
from targets.catalogue.openngc import RawObjects
from targets.catalogue.values import GROUP_TYPES, KIND_OF_TYPE, ORIGINS, Values
from targets.frozen import frozen
from targets.model import Origin
from targets.tables import Row

_NED_MEMBER = re.compile(r"(.*\d) NED\d+")
_LETTER_MEMBER = re.compile(r"(.*\d)[A-Z]")
_CALDWELL = re.compile(r"(?:^|,)\s*C (\d{3})(?:,|$)")

# M102 is disputed: usually taken as NGC 5866, else as a repeat of M101. The file's own row for
# it repeats M101; the usual reading leaves no gap in the list.
DISPUTED_M102 = (102, "NGC5866")


@frozen
class Folded:
    """The outcome, in database rows.

    Parameters
    ----------
    survivors : list of int
        Rows that are targets.
    leads : dict of int to int
        From a duplicate, group member or merged row to the row that stands for it, all the way.
    messier, caldwell : dict of int to int
        From a number to its surviving row.
    """

    survivors: list[int]
    leads: dict[int, int]
    messier: dict[int, int]
    caldwell: dict[int, int]


def fold(
    raw: RawObjects, values: Values, *, merges: tuple[Row, ...], corrections: tuple[Row, ...]
) -> Folded:
    """Find the targets among the rows, and sum the light of groups without a magnitude.

    Parameters
    ----------
    raw : RawObjects
        The database as it is.
    values : Values
        Cleaned; magnitudes of groups are filled in.
    merges, corrections : tuple of dict
        Rows of ``merged_objects.csv`` and ``deepsky_corrections.csv``.

    Returns
    -------
    Folded
        Targets and where the other rows lead.
    """
    row_of = {name: row for row, name in enumerate(raw.name)}
    messier = _messier_rows(raw, row_of)
    members = _group_members(raw, row_of)
    _sum_members(values, members)
    step = _duplicates(raw, row_of, messier) | members
    step |= {row_of[line["name"]]: row_of[line["into"]] for line in merges}
    leads = {row: _follow(row, step) for row in step}
    curated = {line["name"] for line in corrections}
    survivors = [
        row
        for row, code in enumerate(values.type)
        if row not in step and code in KIND_OF_TYPE and (code != "**" or raw.name[row] in curated)
    ]
    caldwell = {n: leads.get(row, row) for n, row in _caldwell_rows(raw).items()}
    return Folded(survivors, leads, messier, caldwell)


def _messier_rows(raw: RawObjects, row_of: dict[str, int]) -> dict[int, int]:
    found = {
        int(text): row for row, text in enumerate(raw.messier) if text and raw.type[row] != "Dup"
    }
    number, name = DISPUTED_M102
    return found | {number: row_of[name]}


def _caldwell_rows(raw: RawObjects) -> dict[int, int]:
    found = {
        int(name[1:]): row
        for row, name in enumerate(raw.name)
        if name[0] == "C" and name[1:].isdigit()
    }
    for row, text in enumerate(raw.identifiers):
        # The plain look first: it is quicker, and most rows fail it.
        if ("C 0" in text or "C 1" in text) and (match := _CALDWELL.search(text)):
            found[int(match[1])] = row
    return found


def _group_members(raw: RawObjects, row_of: dict[str, int]) -> dict[int, int]:
    """Lead "NEDnn" rows to their parent, and lettered ones where that is a group."""
    found = {}
    for row, name in enumerate(raw.name):
        if (name[-1].isdigit() and " " not in name) or raw.type[row] == "Dup":
            continue
        if match := _NED_MEMBER.fullmatch(name):
            found[row] = row_of[match[1]]
        elif match := _LETTER_MEMBER.fullmatch(name):
            parent = row_of.get(match[1])
            if parent is not None and raw.type[parent] in GROUP_TYPES:
                found[row] = parent
    return found


def _sum_members(values: Values, members: dict[int, int]) -> None:
    of_group = defaultdict(list)
    for member, group in members.items():
        of_group[group].append(member)
    for group, rows in of_group.items():
        if np.isnan(values.magnitude[group]):
            values.magnitude[group] = round(summed_magnitude(values.magnitude[rows]), 2)
            if not np.isnan(values.magnitude[group]):
                values.magnitude_origin_code[group] = ORIGINS.index(Origin.DERIVED)


def _duplicates(raw: RawObjects, row_of: dict[str, int], messier: dict[int, int]) -> dict[int, int]:
    found = {}
    for row, code in enumerate(raw.type):
        if code != "Dup":
            continue
        if raw.messier[row]:
            found[row] = messier[int(raw.messier[row])]
        else:
            catalogue, number = ("NGC", raw.ngc[row]) if raw.ngc[row] else ("IC", raw.ic[row])
            found[row] = row_of[catalogue + number]
    return found


def _follow(row: int, step: dict[int, int]) -> int:
    while row in step:
        row = step[row]
    return row
