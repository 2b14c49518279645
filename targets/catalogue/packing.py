"""The catalogue as a few arrays, to be kept in a file, and the catalogue made of them again."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any

import numpy as np

from targets.array_cache import Arrays, texts_array, texts_of
from targets.catalogue.columns import COLUMNS, Catalogue
from targets.catalogue.stars import StarFacts
from targets.catalogue.texts import Texts
from targets.double_stars.orbits import Orbit
from targets.lunar import Form, LunarPlace
from targets.proper_motion import ProperMotion

_CODES = tuple(name for name in COLUMNS if name.endswith("_code"))
_NUMBERS = tuple(name for name in COLUMNS if name not in (*_CODES, "constellation"))
_TEXT_OF_ROW = ("titles", "labels", "size_source", "magnitude_source", "note")
_ROW_OF_TEXT = ("names", "numbers", "identifiers")
_ROW_OF_NUMBER = ("messier", "caldwell")
_FORMS = tuple(Form)
_ORBIT = tuple(one.name for one in fields(Orbit))
_MOTION = tuple(one.name for one in fields(ProperMotion))


def packed(catalogue: Catalogue) -> Arrays:
    """Write a catalogue without a user's own targets as arrays.

    Returns
    -------
    mapping of str to ndarray
        ``numbers``, ``codes`` and ``constellation``, the columns; ``words`` and ``rows``, all
        texts and all whole numbers in the order in which `unpacked` takes them; ``stars`` and
        ``lunar``, a line for each.
    """
    texts, page = catalogue.texts, _Page()
    page.add(texts.ids)
    for name in _TEXT_OF_ROW:
        of_row: Mapping[int, str] = getattr(texts, name)
        page.add(of_row.values(), of_row)
    for name in _ROW_OF_TEXT:
        pairs: list[tuple[str, int]] = getattr(texts, name)
        page.add([text for text, _ in pairs], [row for _, row in pairs])
    page.add(texts.dropped)
    page.add(texts.dropped.values())
    for name in _ROW_OF_NUMBER:
        of_number: Mapping[int, int] = getattr(texts, name)
        page.add(rows=of_number)
        page.add(rows=of_number.values())
    page.add(rows=catalogue.stars)
    page.add(rows=catalogue.lunar)
    return {
        "numbers": np.array([getattr(catalogue, name) for name in _NUMBERS]),
        "codes": np.array([getattr(catalogue, name) for name in _CODES]),
        "constellation": catalogue.constellation,
        "words": texts_array(page.words),
        "rows": np.array(page.rows, dtype=np.int32),
        "stars": np.array([_line_of_star(star) for star in catalogue.stars.values()]),
        "lunar": np.array([_line_of_feature(place) for place in catalogue.lunar.values()]),
    }


def unpacked(arrays: Arrays) -> Catalogue:
    """Return the catalogue that `packed` has written."""
    page = _Page(texts_of(arrays["words"]), arrays["rows"].tolist())
    ids, _ = page.take()
    words: dict[str, Any] = {"ids": tuple(ids)}
    for name in _TEXT_OF_ROW:
        texts, rows = page.take()
        words[name] = dict(zip(rows, texts, strict=True))
    for name in _ROW_OF_TEXT:
        words[name] = list(zip(*page.take(), strict=True))
    words["dropped"] = dict(zip(page.take()[0], page.take()[0], strict=True))
    for name in _ROW_OF_NUMBER:
        words[name] = dict(zip(page.take()[1], page.take()[1], strict=True))
    columns: dict[str, Any] = {
        **dict(zip(_NUMBERS, arrays["numbers"], strict=True)),
        **dict(zip(_CODES, arrays["codes"], strict=True)),
        "constellation": arrays["constellation"],
    }
    stars = zip(page.take()[1], arrays["stars"].tolist(), strict=True)
    lunar = zip(page.take()[1], arrays["lunar"].tolist(), strict=True)
    return Catalogue(
        ids=words["ids"],
        **columns,
        texts=Texts(**words),
        stars={row: _star_of(line) for row, line in stars},
        lunar={row: _feature_of(line) for row, line in lunar},
    )


class _Page:
    """Lists of texts and of whole numbers one after the other, each with its two lengths."""

    def __init__(self, words: list[str] | None = None, rows: list[int] | None = None) -> None:
        self.words, self.rows = words or [], rows or []
        self._word = self._row = 0

    def add(self, words: Iterable[str] = (), rows: Iterable[int] = ()) -> None:
        texts, numbers = list(words), list(rows)
        self.words += texts
        self.rows += [len(texts), len(numbers), *numbers]

    def take(self) -> tuple[list[str], list[int]]:
        words, rows = self.rows[self._row : self._row + 2]
        first_word, first_row = self._word, self._row + 2
        self._word, self._row = first_word + words, first_row + rows
        return self.words[first_word : self._word], self.rows[first_row : self._row]


def _line_of_star(star: StarFacts) -> list[float]:
    """Write the facts of a star in one line, NaN for what is not known."""
    nan, motion = math.nan, star.proper_motion
    return [
        nan if star.epoch_yr is None else star.epoch_yr,
        *(star.magnitude_range or (nan, nan)),
        *((nan,) * 3 if motion is None else (getattr(motion, n) for n in _MOTION)),
        *((nan,) * len(_ORBIT) if star.orbit is None else (getattr(star.orbit, n) for n in _ORBIT)),
    ]


def _star_of(line: list[float]) -> StarFacts:
    epoch, brightest, faintest, *more = line
    return StarFacts(
        epoch_yr=None if math.isnan(epoch) else epoch,
        magnitude_range=None if math.isnan(brightest) else (brightest, faintest),
        proper_motion=None if math.isnan(more[0]) else ProperMotion(*more[:3]),
        orbit=None if math.isnan(more[3]) else Orbit(*more[3:]),
    )


def _line_of_feature(place: LunarPlace) -> list[float]:
    where = (place.latitude_deg, place.longitude_deg, place.diameter_km)
    return [_FORMS.index(place.form), *where, place.has_rays]


def _feature_of(line: list[float]) -> LunarPlace:
    form, latitude_deg, longitude_deg, diameter_km, has_rays = line
    where = (latitude_deg, longitude_deg, diameter_km)
    return LunarPlace(_FORMS[int(form)], *where, has_rays=bool(has_rays))
