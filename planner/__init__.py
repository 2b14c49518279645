"""fieldstop's planner, in rooms. A room imports only from those before it.

``text``        text laid out in cells and made safe
``model``       the vocabulary as frozen dataclasses: kit, site, night, plan, errors
``formulas``    pure functions of optics, eye and sky, with units and sources
``ephemeris``   where things are and when; ``solar_system`` for what is on and around them
``config``      the configuration, read and checked; ``setup`` asks for a first one
``matcher``     which train shows a target best, and why
``journal``     what was seen: ``store`` keeps it, ``exchange`` reads and writes other formats
``planning``    a night planned: windows, worth, looks; ``scheduling`` puts them in order
``advice``      before buying: audit, a year of looks, candidates, sets
``request``     what is asked, by option or by screen
``output``      what is read: ``text``, ``contracts`` (JSON), ``pages`` and ``drawing``
``session``     a night under way: state, moves, clouds, replanning
``interface``   the planner from Python
``cli``         commands and options

From Python, three lines plan a night:

>>> import planner
>>> garden = planner.open_config()  # doctest: +SKIP
>>> garden.plan(date="2027-01-07").table()  # doctest: +SKIP
"""

TYPE_CHECKING = False  # known to tools by this name; the module of types takes its time
if TYPE_CHECKING:
    from planner.interface import open_config

__all__ = ["open_config"]


def __getattr__(name: str) -> object:
    """Load the interface when somebody asks for it; no command needs it."""
    if name == "open_config":
        from planner import interface  # noqa: PLC0415  # as said

        return interface.open_config
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
