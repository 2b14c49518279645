"""Where the questions of the guided setup stand, and what an answer does to them.

Nothing here reads or prints: whoever asks shows `Interview.question` and gives the answer to
`Interview.answered`, which gives the next state. ``<`` goes back.
"""

from __future__ import annotations

import re
from dataclasses import field, replace
from datetime import date
from functools import partial

from planner.config.sections import read_observer
from planner.config.setup.draft import (
    Draft,
    Question,
    Taken,
    checked,
    read_number,
    read_yes,
    without,
)
from planner.config.setup.equipment import (
    take_aperture,
    take_diagonal,
    take_driven,
    take_eyepiece,
    take_focal_length,
    take_focuser,
    take_more,
    take_mount,
    take_obstruction,
    usual_diagonal,
    usual_focuser,
    usual_obstruction,
)
from planner.config.setup.place import at_town, take_elevation, take_place, take_site_name, take_sky
from planner.config.setup.towns import Town
from targets.frozen import frozen

BACK = "<"


@frozen
class Interview:
    """Where the questions stand.

    Parameters
    ----------
    today : date
        For the observer's age.
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
        asked, default = step.ask_of(self.draft), step.default_of(self.draft)
        return f"{asked}{f' [{default}]' if default else ''}"

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
        default = step.default_of(self.draft)
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
        if not self.choices or not re.fullmatch(r"[0-9]+", text):
            return None
        if not 1 <= int(text) <= len(self.choices):
            raise ValueError(f"Allowed is 1 to {len(self.choices)}; or write the name anew.")
        return at_town(self.draft, self.choices[int(text) - 1])


PUPIL_KEYS = ("birth_year", "dark_pupil_mm")


def take_pupil(draft: Draft, text: str, today: date) -> Taken:
    """Take a year of birth or a measured pupil; nothing leaves the usual one."""
    pupil = _pupil(text)
    after = replace(draft, observer={**without(draft.observer, *PUPIL_KEYS), **pupil})
    observer = checked(lambda table: read_observer(table, today), after.observer, "you")
    how = observer.pupil_source
    return Taken(after, (f"A pupil of {observer.dark_pupil_mm:g} mm in the dark, {how}.",))


def _pupil(text: str) -> dict[str, float]:
    if not text:
        return {}
    value = read_number(text.removesuffix("mm"), "a year as in 1984, or millimetres as in 6.2")
    if value < 100.0:
        return {"dark_pupil_mm": value}
    return {"birth_year": int(value) if value == int(value) else value}


def take_spectacles(draft: Draft, text: str, _today: date) -> Taken:
    """Take whether glasses stay on."""
    return Taken(draft.with_observer(spectacles=read_yes(text)))


STEPS = (
    Question("From where do you observe? A town, or coordinates", None, take_place),
    Question("What do you call this place", lambda draft: str(draft.site["name"]), take_site_name),
    Question("Metres above the sea (it matters little)", "0", take_elevation),
    Question(
        "How dark is the sky? Bortle class 1 to 9, a meter's reading such as 20.9, or Enter "
        "when you do not know",
        "",
        take_sky,
    ),
    Question("Your telescope's aperture? In mm, or in inches as in 8 in", None, take_aperture),
    Question("Its focal length in mm, or focal ratio as in f/6", None, take_focal_length),
    Question(
        "Its secondary mirror in mm or %; 0 for a refractor", usual_obstruction, take_obstruction
    ),
    Question("Do you look through a star diagonal? y or n", usual_diagonal, take_diagonal),
    Question("The largest barrel that its focuser takes", usual_focuser, take_focuser),
    Question("Its mount: altazimuth or equatorial", "altazimuth", take_mount),
    Question("Do motors follow the sky? y or n", "n", take_driven),
    Question(
        lambda draft: (
            "Another eyepiece, or Enter to go on"
            if draft.eyepieces
            else "An eyepiece: focal length, apparent field, barrel, as in 12 60 1.25; the focal "
            "length alone will do, and several with and: 25 mm and 9 mm"
        ),
        lambda draft: "" if draft.eyepieces else None,
        take_eyepiece,
    ),
    Question(
        "A Barlow or reducer as in 2x 1.25, or Enter to go on",
        "",
        partial(take_more, what="amplifier"),
    ),
    Question("A filter as in oiii 2in, or Enter to go on", "", partial(take_more, what="filter")),
    Question(
        "Your year of birth, or your pupil in the dark in mm if measured, or Enter", "", take_pupil
    ),
    Question("Do spectacles stay on at the eyepiece? y or n", "n", take_spectacles),
)
