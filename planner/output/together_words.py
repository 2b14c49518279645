"""What a plan with two telescopes says of each look beside what any plan says."""

from __future__ import annotations

from planner.model.plan import Plan, Together
from planner.model.site import Site
from planner.output.night_words import heading_facts, telescope_words
from planner.output.words import clock
from planner.planning.circumstances import Circumstances

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


def pair_facts(plan: Plan, first: Circumstances) -> list[tuple[str, str]]:
    """Return the facts at the head of a plan with two telescopes, from those of the first."""
    facts = heading_facts(plan.night, first)
    pupil = next(text for name, text in facts if name == "With").rpartition("; ")[2]
    both = "; ".join(map(telescope_words, plan.telescopes))
    pair = [("With", both), ("By", f"{HEADINGS[plan.observers]}; {pupil}")]
    return [one for fact in facts for one in (pair if fact[0] == "With" else [fact])]
