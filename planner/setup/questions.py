"""The questions of the guided setup, one after the other, and what an answer does to the draft.

Nothing here reads or prints: whoever asks shows `Interview.question` and gives the answer to
`Interview.answered`, which gives the next state. ``<`` goes back.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from typing import Any

from planner.entries import (
    read_amplifier,
    read_eyepiece,
    read_filter,
    read_observer,
    read_site,
    read_telescope,
)
from planner.kit import Barrel, Mount
from planner.plausibility import eyepiece_doubt
from planner.setup.draft import Draft, Entry
from planner.setup.places import looks_like_coordinates, read_coordinates
from planner.setup.sizes import (
    eyepiece_name,
    read_amplifier_line,
    read_barrel,
    read_eyepiece_line,
    read_filter_line,
    read_focal_length_mm,
    read_size_mm,
)
from planner.setup.towns import Town, coordinates_words, find_towns, nearest_town
from planner.validation import Table

BACK = "<"
# The usual central obstruction of a reflector, a quarter of its aperture (common practice).
USUAL_OBSTRUCTION = 0.25
SKY_KEYS = ("bortle", "sky_mag_arcsec2")
PUPIL_KEYS = ("birth_year", "dark_pupil_mm")
YES, NO = {"y", "yes"}, {"n", "no"}


@dataclass(frozen=True, slots=True)
class Taken:
    """What an answer came to: the draft, what to say of it, and whether to ask again."""

    draft: Draft
    said: tuple[str, ...] = ()
    again: bool = False
    choices: tuple[Town, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """A question, what an empty answer means, and what takes the answer.

    ``ask`` and ``default`` see the draft; a default of None means that an answer is needed, and an
    empty one that an empty answer goes on. ``take`` raises ValueError with sentences.
    """

    ask: Callable[[Draft], str]
    default: Callable[[Draft], str | None]
    take: Callable[[Draft, str, date], Taken]


@dataclass(frozen=True, slots=True)
class Interview:
    """Where the questions stand.

    Parameters
    ----------
    today : date
        For the observer's age.
    number : int
        Of the question.
    draft : Draft
    choices : tuple of Town
        Towns of which one is to be chosen by its number.
    before : Interview or None
        For going back.
    """

    today: date
    number: int = 0
    draft: Draft = field(default_factory=Draft)
    choices: tuple[Town, ...] = ()
    before: Interview | None = None

    @property
    def is_over(self) -> bool:
        """Whether all is asked."""
        return self.number >= len(STEPS)

    @property
    def question(self) -> str:
        """The question, with what an empty answer means in brackets."""
        step = STEPS[self.number]
        default = step.default(self.draft)
        return f"{step.ask(self.draft)}{f' [{default}]' if default else ''}"

    def answered(self, text: str) -> tuple[Interview, tuple[str, ...]]:
        """Take an answer.

        Returns
        -------
        Interview
            The next question, or the same one when the answer cannot be used.
        tuple of str
            Sentences: what was found, or what is wrong.
        """
        text = text.strip()
        if text == BACK:
            return (self.before, ()) if self.before else (self, ("This is the first question.",))
        step = STEPS[self.number]
        default = step.default(self.draft)
        if not text and default is None:
            return self, ("An answer is needed here.",)
        try:
            taken = self._chosen(text) or step.take(self.draft, text or default or "", self.today)
        except ValueError as error:
            return self, tuple(str(error).split("\n"))
        number = self.number if taken.again else self.number + 1
        after = replace(self, number=number, draft=taken.draft, choices=taken.choices, before=self)
        return after, taken.said

    def _chosen(self, text: str) -> Taken | None:
        """Take the number of a town of which several go by one name."""
        if not self.choices or not re.fullmatch(r"[0-9]", text):
            return None
        if not 1 <= int(text) <= len(self.choices):
            raise ValueError(f"There are 1 to {len(self.choices)}; or write the name anew.")
        return _at_town(self.draft, self.choices[int(text) - 1])


def _checked(read: Callable[[Table], Any], entry: Entry, place: str) -> Any:
    """Read a table as the configuration does; ValueError with all faults, a line for each."""
    faults: list[str] = []
    table = Table(entry, place, faults)
    value = read(table)
    table.finish()
    if faults:
        raise ValueError("\n".join(faults))
    return value


def _take_place(draft: Draft, text: str, _today: date) -> Taken:
    if looks_like_coordinates(text):
        return _at_place(draft, *read_coordinates(text))
    towns = find_towns(text)
    if not towns:
        raise ValueError(
            f'No town called "{text}" with 15,000 inhabitants or more is known; give a larger one '
            'nearby, or coordinates as in "51.2 N 2.4 W".'
        )
    if len(towns) == 1:
        return _at_town(draft, towns[0])
    said = [f"{number}  {town.words}" for number, town in enumerate(towns, start=1)]
    said.append("Which one? Its number, or a name with its country.")
    return Taken(draft, tuple(said), again=True, choices=towns)


def _at_town(draft: Draft, town: Town) -> Taken:
    site = draft.with_site(
        name=town.name, latitude_deg=town.latitude_deg, longitude_deg=town.longitude_deg
    )
    return Taken(site, (f"{town.words}; times are {_zone(site)}.",))


def _at_place(draft: Draft, latitude_deg: float, longitude_deg: float) -> Taken:
    latitude_deg, longitude_deg = round(latitude_deg, 5), round(longitude_deg, 5)
    site = draft.with_site(name="Home", latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    town, km = nearest_town(latitude_deg, longitude_deg)
    words = coordinates_words(latitude_deg, longitude_deg)
    near = f"{km:.0f} km from {town.name}, {town.country}"
    said = f'{words} is {near}; times are {_zone(site)}. Not there? "<" goes back.'
    return Taken(site, (said,))


def _zone(draft: Draft) -> str:
    return str(_checked(read_site, draft.site, "place").timezone)


def _take_site_name(draft: Draft, text: str, _today: date) -> Taken:
    after = draft.with_site(name=text)
    _checked(read_site, after.site, "place")
    return Taken(after)


def _take_elevation(draft: Draft, text: str, _today: date) -> Taken:
    feet = re.fullmatch(r"(-?[0-9]+(?:\.[0-9]+)?)\s*(?:ft|feet)", text)
    metres = float(feet[1]) * 0.3048 if feet else _number(text.removesuffix("m"))
    after = draft.with_site(elevation_m=round(metres))
    _checked(read_site, after.site, "place")
    return Taken(after)


def _take_sky(draft: Draft, text: str, _today: date) -> Taken:
    after = replace(draft, site={**_without(draft.site, *SKY_KEYS), **_sky(text)})
    site = _checked(read_site, after.site, "sky")
    words = f"{site.sky_mag_arcsec2:g} mag/arcsec2 at the zenith, {site.sky_source}."
    return Taken(after, (words,))


def _sky(text: str) -> dict[str, float]:
    if not text:
        return {}
    value = _number(text.lower().removeprefix("bortle"))
    is_class = value == int(value) and value <= 9
    return {"bortle": int(value)} if is_class else {"sky_mag_arcsec2": value}


def _without(entry: Entry, *keys: str) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if key not in keys}


def _take_aperture(draft: Draft, text: str, _today: date) -> Taken:
    aperture_mm = read_size_mm(text)
    if not 20.0 <= aperture_mm <= 3000.0:
        raise ValueError(f"{aperture_mm:g} mm: an aperture is 20 to 3000 mm, 1 to 118 inches.")
    return Taken(draft.with_telescope(aperture_mm=aperture_mm), (f"{aperture_mm:g} mm.",))


def _take_focal_length(draft: Draft, text: str, _today: date) -> Taken:
    aperture_mm = draft.telescope["aperture_mm"]
    focal_mm = read_focal_length_mm(text, aperture_mm)
    name = f"{aperture_mm:g} mm f/{round(focal_mm / aperture_mm, 1):g}"
    named = {"name": name, **_without(draft.telescope, "name"), "focal_length_mm": focal_mm}
    after = replace(draft, telescope=named)
    _checked(read_telescope, {**after.telescope, "focuser": str(Barrel.TWO)}, "telescope")
    return Taken(after, (f"{name}, focal length {focal_mm:g} mm.",))


def _take_obstruction(draft: Draft, text: str, _today: date) -> Taken:
    aperture_mm = draft.telescope["aperture_mm"]
    share = re.fullmatch(r"([0-9]+(?:\.[0-9]+)?)\s*%", text)
    size_mm = aperture_mm * float(share[1]) / 100.0 if share else read_size_mm(text)
    if size_mm >= aperture_mm:
        raise ValueError(f"The secondary mirror must be smaller than the {aperture_mm:g} mm.")
    return Taken(draft.with_telescope(obstruction_mm=round(size_mm, 1)))


def _take_focuser(draft: Draft, text: str, _today: date) -> Taken:
    return Taken(draft.with_telescope(focuser=str(read_barrel(text))))


def _take_mount(draft: Draft, text: str, _today: date) -> Taken:
    kinds = [mount for mount in Mount if text and mount.startswith(text.lower())]
    if len(kinds) != 1:
        raise ValueError('Allowed is "altazimuth" or "equatorial"; a or e will do.')
    return Taken(draft.with_telescope(mount=str(kinds[0])))


def _take_driven(draft: Draft, text: str, _today: date) -> Taken:
    return Taken(draft.with_telescope(driven=_yes(text)))


def _take_eyepiece(draft: Draft, text: str, _today: date) -> Taken:
    if not text:
        return Taken(draft)
    entry, said = read_eyepiece_line(text)
    entry = {"name": _free_name(eyepiece_name(entry), draft.eyepieces), **entry}
    eyepiece = _checked(read_eyepiece, entry, "eyepiece")
    _check_double(entry, draft.eyepieces)
    doubt = eyepiece_doubt(eyepiece)
    powers = [draft.telescope["focal_length_mm"] / mm for mm in eyepiece.focal_lengths_mm[::-1]]
    told = f"{entry['name']}: {'-'.join(f'{power:.0f}' for power in powers)}x in this telescope."
    after = replace(draft, eyepieces=(*draft.eyepieces, entry))
    return Taken(after, tuple(filter(None, (told, said, doubt))), again=True)


def _take_more(draft: Draft, text: str, _today: date, *, what: str) -> Taken:
    """Take a Barlow or a filter, or go on."""
    if not text:
        return Taken(draft)
    entries: tuple[Entry, ...] = getattr(draft, f"{what}s")
    read_line, read = MORE[what]
    entry = read_line(text)
    entry["name"] = _free_name(str(entry["name"]), entries)
    _checked(read, entry, what)
    more: dict[str, Any] = {f"{what}s": (*entries, entry)}
    changed = replace(draft, **more)
    return Taken(changed, (f"{entry['name']}.",), again=True)


MORE: dict[str, tuple[Callable[[str], dict[str, Any]], Callable[[Table], Any]]] = {
    "amplifier": (read_amplifier_line, read_amplifier),
    "filter": (read_filter_line, read_filter),
}


def _take_pupil(draft: Draft, text: str, today: date) -> Taken:
    pupil = _pupil(text)
    after = replace(draft, observer={**_without(draft.observer, *PUPIL_KEYS), **pupil})
    observer = _checked(partial(_read_observer, today=today), after.observer, "you")
    how = observer.pupil_source
    return Taken(after, (f"A pupil of {observer.dark_pupil_mm:g} mm in the dark, {how}.",))


def _pupil(text: str) -> dict[str, float]:
    if not text:
        return {}
    value = _number(text.removesuffix("mm"))
    if value < 100.0:
        return {"dark_pupil_mm": value}
    return {"birth_year": int(value) if value == int(value) else value}


def _read_observer(table: Table, *, today: date) -> Any:
    return read_observer(table, today)


def _take_spectacles(draft: Draft, text: str, _today: date) -> Taken:
    return Taken(draft.with_observer(spectacles=_yes(text)))


def _check_double(entry: Entry, others: tuple[Entry, ...]) -> None:
    """Refuse an eyepiece that stands there already, number by number."""
    without_name = {key: value for key, value in entry.items() if key != "name"}
    if any(without_name == {k: v for k, v in o.items() if k != "name"} for o in others):
        raise ValueError("This one is on the list already.")


def _free_name(name: str, others: tuple[Entry, ...]) -> str:
    """Put a number behind a name that is taken."""
    taken = {str(other["name"]).casefold() for other in others}
    names = (name if number == 1 else f"{name} ({number})" for number in range(1, 1000))
    return next(free for free in names if free.casefold() not in taken)


def _yes(text: str) -> bool:
    word = text.lower()
    if word not in YES | NO:
        raise ValueError("Answer y or n.")
    return word in YES


def _number(text: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise ValueError(f'"{text}" is no number.') from None


def _asking(text: str) -> Callable[[Draft], str]:
    return lambda _draft: text


def _usually(text: str | None) -> Callable[[Draft], str | None]:
    return lambda _draft: text


def _usual_obstruction(draft: Draft) -> str:
    return f"{draft.telescope['aperture_mm'] * USUAL_OBSTRUCTION:.0f}"


STEPS = (
    Step(_asking("From where do you observe? A town, or coordinates"), _usually(None), _take_place),
    Step(
        _asking("What do you call this place"),
        lambda draft: str(draft.site["name"]),
        _take_site_name,
    ),
    Step(_asking("Metres above the sea (it matters little)"), _usually("0"), _take_elevation),
    Step(
        _asking(
            "How dark is the sky? Bortle class 1 to 9, a meter's reading such as 20.9, or Enter "
            "when you do not know"
        ),
        _usually(""),
        _take_sky,
    ),
    Step(
        _asking("Your telescope's aperture? In mm, or in inches as in 8 in"),
        _usually(None),
        _take_aperture,
    ),
    Step(
        _asking("Its focal length in mm, or focal ratio as in f/6"),
        _usually(None),
        _take_focal_length,
    ),
    Step(
        _asking("Its secondary mirror in mm or %; 0 for a refractor"),
        _usual_obstruction,
        _take_obstruction,
    ),
    Step(_asking("The largest barrel that its focuser takes"), _usually("2in"), _take_focuser),
    Step(_asking("Its mount: altazimuth or equatorial"), _usually("altazimuth"), _take_mount),
    Step(_asking("Do motors follow the sky? y or n"), _usually("n"), _take_driven),
    Step(
        lambda draft: (
            "Another eyepiece, or Enter to go on"
            if draft.eyepieces
            else "An eyepiece: focal length, apparent field, barrel, as in 12 60 1.25"
        ),
        lambda draft: "" if draft.eyepieces else None,
        _take_eyepiece,
    ),
    Step(
        _asking("A Barlow or reducer as in 2x 1.25, or Enter to go on"),
        _usually(""),
        partial(_take_more, what="amplifier"),
    ),
    Step(
        _asking("A filter as in oiii 2in, or Enter to go on"),
        _usually(""),
        partial(_take_more, what="filter"),
    ),
    Step(
        _asking("Your year of birth, or your pupil in the dark in mm if measured, or Enter"),
        _usually(""),
        _take_pupil,
    ),
    Step(_asking("Do spectacles stay on at the eyepiece? y or n"), _usually("n"), _take_spectacles),
)
