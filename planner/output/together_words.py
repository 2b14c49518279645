"""What a plan with two telescopes says of each look beside what any plan says."""

from __future__ import annotations

from planner.model.plan import Plan, Together
from planner.model.site import Site
from planner.output.night_words import telescope_words
from planner.output.words import clock

HEADINGS = {
    1: "one observer, who turns from one telescope to the other",
    2: "two observers, one at each telescope",
}


def together_words(together: Together | None, site: Site) -> list[str]:
    """Return clauses: what comparing teaches, where things are, what to bring over.

    Parameters
    ----------
    together : Together or None
        Of a look; None in a plan with one telescope.
    site : Site
        Whose clocks are meant.
    """
    if together is None:
        return []
    words = [f"compare: {together.compares}"] if together.compares else []
    if together.found_in:
        words.append(f"find: it stands in {together.found_in} already")
    words += [
        f"{name} is in {telescope} until {clock(until, site)}"
        for name, telescope, until in together.elsewhere
    ]
    words += [f"bring {name} over from {telescope}" for name, telescope in together.brought]
    return words


def pair_facts(plan: Plan, facts: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Put both telescopes into the facts at the head of a plan, where one stands.

    Parameters
    ----------
    plan : Plan
        With two telescopes.
    facts : list of (str, str)
        Of the first one.
    """
    pupil = next(text for name, text in facts if name == "With").rpartition("; ")[2]
    first, second = map(telescope_words, plan.telescopes)
    pair = [("With", f"{first}; {second}"), ("By", f"{HEADINGS[plan.observers]}; {pupil}")]
    return [one for fact in facts for one in (pair if fact[0] == "With" else [fact])]
