"""A night planned: windows, shortlist, worth, one look, many nights.

The optimiser is in ``scheduling``; which train is best is asked of ``planner.matcher``.
"""
