"""The words of the catalogue: names, other designations, sources and notes of each target."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from functools import cached_property
from typing import overload

from targets.frozen import frozen
from targets.naming.designations import designation_key, name_key, spaced
from targets.naming.lookup import Index, first_come
from targets.naming.star_names import star_forms

# Designations that observers say together with the name. Those of the large surveys are left
# out when there is a name: nobody says "PGC 143 Wolf-Lundmark-Melotte Galaxy".
SPOKEN_DESIGNATION = re.compile(
    r"(NGC|IC|M|C|B|H|Mel|Cr|Tr|Ru|Stock|Blanco|Roslund|Pal|Terzan|Abell|LDN|Sh2-|3C)\d"
)
# Surveys whose numbers observers meet on charts; position names (2MASX, SDSS, ...) are not.
PADDED_NUMBER = re.compile(r"^(\w+) 0+(\d+)$")
SURVEY = re.compile(r"(?:UGCA?|PGC|ESO|MCG|MWSC|LBN|PK|PN G|Cl|Mel|SH) ?[-+]?\d")
# A member ("UGC 4460 NED01"), a remark of the survey ("UGC 2688 NOTES01"), or two numbers run
# together ("PGC 123456SDSS J01...") is not a number that anybody would look for.
NO_NUMBER = re.compile(r" (?:NED|NOTES)\d|SDSS")


@frozen(slots=False)
class Texts:
    """Words by target index; a dictionary has no entry where there is nothing to say.

    Parameters
    ----------
    ids : tuple of str
        Identifiers.
    titles : dict of int to str
        The common name that is shown.
    names : list of (str, int)
        All common names; of equal ones the first counts.
    numbers : list of (str, int)
        Other designations as identifiers, those of parts and duplicates included.
    dropped : dict of str to str
        From the key of a number that is no target to the database's type code.
    messier, caldwell : dict of int to int
        From the list's number to the index.
    identifiers : list of (str, int)
        The database's field of survey numbers, as written.
    labels : dict of int to str
        Designations that are not the identifier with a blank: ``beta Cyg``.
    size_source, magnitude_source, note, own_note : dict of int to str
        As in :class:`~targets.model.Target`.
    """

    ids: tuple[str, ...]
    titles: Mapping[int, str]
    names: list[tuple[str, int]]
    numbers: list[tuple[str, int]]
    dropped: Mapping[str, str]
    messier: dict[int, int]
    caldwell: dict[int, int]
    identifiers: list[tuple[str, int]]
    labels: Mapping[int, str] = field(default_factory=dict)
    size_source: dict[int, str] = field(default_factory=dict)
    magnitude_source: dict[int, str] = field(default_factory=dict)
    note: dict[int, str] = field(default_factory=dict)
    own_note: dict[int, str] = field(default_factory=dict)

    def label(self, index: int) -> str:
        """Return the designation that observers use: ``M31``, ``NGC 7331``, ``beta Cyg``."""
        if index in self.labels:
            return self.labels[index]
        number = self._messier_number.get(index)
        return spaced(self.ids[index]) if number is None else f"M{number}"

    def name(self, index: int) -> str:
        """Return what an observer says: ``M31 Andromeda Galaxy``, ``Albireo (beta Cyg)``."""
        title = self.titles.get(index)
        if title is None:
            return self.label(index)
        if index in self.labels:
            return f"{title} ({self.labels[index]})"
        spoken = index in self._messier_number or SPOKEN_DESIGNATION.match(self.ids[index])
        return f"{self.label(index)} {title}" if spoken else title

    def aliases(self, index: int) -> tuple[str, ...]:
        """Return the other designations and names; each of them finds this target."""
        others = [spaced(number) for number in self._numbers_of[index]]
        if index in self._messier_number:
            others.append(spaced(self.ids[index]))
        others += self._names_of[index]
        others += star_forms(self.labels.get(index, ""))
        for text in self._identifiers_of[index]:
            others += survey_numbers(text)
        unique = dict.fromkeys(others)
        unique.pop(self.label(index), None)
        return tuple(unique)

    @cached_property
    def index(self) -> Index:
        """The look-up table of all spellings."""
        own = ((identifier.casefold(), index) for index, identifier in enumerate(self.ids))
        numbers = ((number.casefold(), index) for number, index in self.numbers)
        named = (
            (key, index) for name, index in self.names if (key := designation_key(name)) is not None
        )
        return Index(
            designations=first_come([*own, *numbers, *named]),
            common_names=self.names,
            full_names={name_key(self.name(index)): index for index in self.titles},
            dropped=self.dropped,
            survey_keys=lambda: first_come(self._survey_keys()),
            label=self.label,
        )

    def _survey_keys(self) -> Iterator[tuple[str, int]]:
        for text, index in self.identifiers:
            for number in survey_numbers(text):
                key = designation_key(number)
                if key is not None:
                    yield key, index

    @cached_property
    def _messier_number(self) -> dict[int, int]:
        return {index: number for number, index in self.messier.items()}

    @cached_property
    def _numbers_of(self) -> dict[int, list[str]]:
        return _by_index(list(first_come(self.numbers).items()))

    @cached_property
    def _names_of(self) -> dict[int, list[str]]:
        """Names that lead here and not to a target that shares the name."""
        return _by_index(
            [pair for pair in self.names if self.index.names[name_key(pair[0])] == pair[1]]
        )

    @cached_property
    def _identifiers_of(self) -> dict[int, list[str]]:
        return _by_index(self.identifiers)


class Aliases(Sequence[str]):
    """Other names of a target, put together when somebody asks for them."""

    __slots__ = ("_index", "_texts")

    def __init__(self, texts: Texts, index: int) -> None:
        self._texts, self._index = texts, index

    @overload
    def __getitem__(self, place: int) -> str: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[str, ...]: ...
    def __getitem__(self, place: int | slice) -> str | tuple[str, ...]:
        """Return one of the names, or some."""
        return self._texts.aliases(self._index)[place]

    def __len__(self) -> int:
        """Count the names."""
        return len(self._texts.aliases(self._index))

    def __iter__(self) -> Iterator[str]:
        """Return the names in turn."""
        return iter(self._texts.aliases(self._index))

    def __eq__(self, other: object) -> bool:
        """Tell whether the names are the same, also those of a tuple."""
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        """Return the hash of the tuple of the names."""
        return hash(tuple(self))


def survey_numbers(text: str) -> list[str]:
    """Pick the survey numbers out of the database's field, stray blanks and junk apart."""
    items = (" ".join(item.split()) for item in text.split(","))
    wanted = (item for item in items if SURVEY.match(item) and not NO_NUMBER.search(item))
    chosen = (item.replace("Cl ", "Cr ") for item in wanted)
    return [PADDED_NUMBER.sub(r"\1 \2", item) for item in chosen]


def _by_index(pairs: list[tuple[str, int]]) -> dict[int, list[str]]:
    found: dict[int, list[str]] = defaultdict(list)
    for word, index in pairs:
        found[index].append(word)
    return found
