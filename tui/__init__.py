"""Screens at the scope; a package without content so far. It may know the planner, never the reverse."""
