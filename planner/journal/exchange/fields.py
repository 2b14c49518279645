"""The fields of the journal's records: their names, and what may stand in them.

Nothing gets from a file into the journal but through `Field.value`.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.config.checks import listed, show
from planner.journal.records import Outcome

LONGEST_TEXT = 100_000  # characters: fifty pages of notes
LONGEST_LIST = 100
SEEING = ("I", "II", "III", "IV", "V")
OUTCOMES = tuple(Outcome)
INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}([.,][0-9]+)?)?")


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a record.

    Parameters
    ----------
    name : str
        As in the record.
    form : str
        ``text``, ``number``, ``whole``, ``instant``, ``date``, ``texts``, ``zone`` or ``word``.
    low, high : float
        Bounds of a number, both ends included.
    words : tuple of str
        What a ``word`` may be.
    absent : object
        What stands for nothing: None or ``""``.
    """

    name: str
    form: str = "text"
    low: float = -math.inf
    high: float = math.inf
    words: tuple[str, ...] = ()
    absent: Any = None

    def value(self, found: Any) -> Any:
        """Return what a record may hold for what a file holds.

        Parameters
        ----------
        found : object
            Text, number or list; None or an empty text for nothing.

        Raises
        ------
        ValueError
            With a sentence, when the field cannot hold that.
        """
        if found is None or found == "":
            return () if self.form == "texts" else self.absent
        return getattr(self, f"_{self.form}")(found)

    def in_cell(self, text: str) -> Any:
        """Return what JSON would hold for the text of a cell of a table.

        Raises
        ------
        ValueError
            With a sentence, when a number is needed and the text is none.
        """
        bare = text.strip()
        if self.form == "text" or not bare:
            return text
        if self.form in {"number", "whole"}:
            return self._number_in(bare)
        if self.form != "texts":
            return bare
        return json.loads(bare) if bare.startswith("[") else re.split(" *; *", bare)

    def exported(self, value: Any) -> Any:
        """Return a value of a record as JSON holds it."""
        if value is None or value == "":
            return None
        if isinstance(value, datetime):
            return value.astimezone(UTC).isoformat()
        if isinstance(value, date):
            return value.isoformat()
        if isinstance(value, float) and not math.isfinite(value):
            return None
        return list(value) if isinstance(value, tuple) else value

    def _wrong(self, found: Any, allowed: str) -> ValueError:
        return ValueError(f'"{self.name}" is {show(found)}; allowed is {allowed}')

    def _number_in(self, text: str) -> float | int:
        try:
            return int(text) if self.form == "whole" else float(text)
        except ValueError:
            raise self._wrong(text, self._bounds()) from None

    def _bounds(self) -> str:
        kind = "a whole number" if self.form == "whole" else "a number"
        return f"{kind} from {self.low:g} to {self.high:g}"

    def _text(self, found: Any) -> str:
        if not isinstance(found, str):
            raise self._wrong(found, "text")
        if len(found) > LONGEST_TEXT:
            raise ValueError(
                f'"{self.name}" has {len(found)} characters; allowed are {LONGEST_TEXT}'
            )
        return found.encode("utf-8", "replace").decode()  # halves of characters are no text

    def _number(self, found: Any) -> float:
        if isinstance(found, bool) or not isinstance(found, int | float):
            raise self._wrong(found, self._bounds())
        if not self.low <= found <= self.high:
            raise self._wrong(found, self._bounds())
        return float(found)

    def _whole(self, found: Any) -> int:
        value = self._number(found)
        if value != int(value):
            raise self._wrong(found, self._bounds())
        return int(value)

    def _instant(self, found: Any) -> datetime:
        allowed = "a time with its offset, as in 2026-11-25T21:30:00+00:00"
        if not isinstance(found, str) or not INSTANT.match(found):
            raise self._wrong(found, allowed)
        try:
            instant = datetime.fromisoformat(found)
            if instant.tzinfo is None:
                raise self._wrong(found, allowed)
            return instant.astimezone(UTC)
        except (ValueError, OverflowError):
            raise self._wrong(found, allowed) from None

    def _date(self, found: Any) -> date:
        try:
            if isinstance(found, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", found):
                return date.fromisoformat(found)
        except ValueError:
            pass
        raise self._wrong(found, "a date of the calendar, as in 2026-11-25")

    def _zone(self, found: Any) -> str:
        text = self._text(found)
        try:
            ZoneInfo(text)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise self._wrong(found, "the name of a time zone, as in Europe/London") from None
        return text

    def _word(self, found: Any) -> str:
        if found not in self.words:
            raise self._wrong(found, listed(self.words))
        return str(found)

    def _texts(self, found: Any) -> tuple[str, ...]:
        if not isinstance(found, list) or len(found) > LONGEST_LIST:
            raise self._wrong(found, f"a list of at most {LONGEST_LIST} texts")
        return tuple(map(self._text, found))


def _words(*names: str) -> tuple[Field, ...]:
    return tuple(Field(name, absent="") for name in names)


TARGET_FIELDS = (
    *_words("id", "name", "kind"),
    Field("constellation"),
    Field("ra_deg", "number", 0.0, 360.0),
    Field("dec_deg", "number", -90.0, 90.0),
    Field("major_arcmin", "number", 0.0, 21_600.0),
    Field("minor_arcmin", "number", 0.0, 21_600.0),
    Field("magnitude", "number", -30.0, 40.0),
)
TRAIN_FIELDS = (
    *_words("telescope"),
    Field("aperture_mm", "number", 1.0, 50_000.0),
    Field("telescope_focal_length_mm", "number", 1.0, 1_000_000.0),
    *_words("eyepiece"),
    Field("eyepiece_focal_length_mm", "number", 0.1, 10_000.0),
    Field("apparent_field_deg", "number", 0.1, 180.0),
    *_words("amplifier"),
    Field("amplifier_factor", "number", 0.05, 20.0),
    *_words("filter", "filter_kind"),
    Field("magnification", "number", 0.1, 100_000.0),
    Field("exit_pupil_mm", "number", 0.001, 100.0),
    Field("true_field_deg", "number", 0.0001, 180.0),
)
CONDITION_FIELDS = (
    Field("seeing", "word", words=SEEING),
    Field("transparency", "whole", 1, 5),
)
ENTRY_FIELDS = (
    Field("at", "instant"),
    Field("outcome", "word", words=OUTCOMES, absent=Outcome.SEEN),
    *_words("planned_train"),
    Field("planned_at", "instant"),
    *_words("why_skipped"),
    Field("rating", "whole", 1, 5),
    *CONDITION_FIELDS,
    *_words("note", "sketch"),
)
SESSION_FIELDS = (
    Field("evening", "date"),
    *_words("site"),
    Field("timezone", "zone", absent=""),
    Field("start", "instant"),
    Field("end", "instant"),
    Field("latitude_deg", "number", -90.0, 90.0),
    Field("longitude_deg", "number", -180.0, 180.0),
    Field("elevation_m", "number", -500.0, 9_000.0),
    *CONDITION_FIELDS,
    Field("sky_mag_arcsec2", "number", 0.0, 25.0),
    Field("faintest_star_mag", "number", -5.0, 10.0),
    *_words("weather", "comments", "observer"),
    Field("companions", "texts"),
)


def read_fields(fields: tuple[Field, ...], found: Mapping[str, Any]) -> dict[str, Any]:
    """Read several fields of a record; a missing one is nothing.

    Raises
    ------
    ValueError
        With a sentence for the first field that cannot hold what is found.
    """
    return {field.name: field.value(found.get(field.name)) for field in fields}


def exported_fields(fields: tuple[Field, ...], record: object) -> dict[str, Any]:
    """Return several fields of a record as JSON holds them."""
    return {field.name: field.exported(getattr(record, field.name)) for field in fields}
