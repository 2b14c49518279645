"""Draws how high the targets of a list stand at their best moment, from one new Moon to the next.

Run it from anywhere: ``python examples/season.py``. It uses the built-in example site; give
``planner.open_config`` your own file to see your own sky.
"""

from __future__ import annotations

import pandas as pd

import planner

TARGETS = ("M42", "M104", "M13", "M57", "M31")
NEW_MOONS = pd.date_range("2027-01-07", periods=12, freq="709h")  # a month of 29.5 days
DEGREES_PER_MARK = 10.0


def best_altitude_deg(garden: planner.interface.Observatory, name: str, evening: str) -> float:
    """Return how high a target stands at its best moment [deg]; 0 where it never shows."""
    report = garden.look(name, date=evening).report
    return report.altitude_deg if report.windows else 0.0


def season(garden: planner.interface.Observatory) -> pd.DataFrame:
    """Return the best altitude [deg] of each target (row) at each new Moon (column)."""
    return pd.DataFrame(
        {
            f"{evening:%d %b}": [
                best_altitude_deg(garden, name, f"{evening:%F}") for name in TARGETS
            ]
            for evening in NEW_MOONS
        },
        index=TARGETS,
    )


def marks(altitude_deg: float) -> str:
    """Return an altitude as a bar, a mark for every ten degrees."""
    return "|" * round(altitude_deg / DEGREES_PER_MARK) or "."


if __name__ == "__main__":
    table = season(planner.open_config())
    print("Altitude at the best moment, a mark for every 10 degrees; . stands for never")
    print(table.map(marks).to_string())
