"""Where the questions of the guided setup stand, and what an answer does to them.

Nothing here reads or prints: whoever asks shows `Interview.question` and gives the answer to
`Interview.answered`, which gives the next state. ``<`` goes back.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import date

from planner.config.setup.draft import Draft, Taken
from planner.config.setup.place import at_town
from planner.config.setup.questions import STEPS
from planner.config.setup.towns import Town

BACK = "<"


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
        if not self.choices or not re.fullmatch(r"[0-9]+", text):
            return None
        if not 1 <= int(text) <= len(self.choices):
            raise ValueError(f"Allowed is 1 to {len(self.choices)}; or write the name anew.")
        return at_town(self.draft, self.choices[int(text) - 1])
