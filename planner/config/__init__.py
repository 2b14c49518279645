"""The TOML file, read and checked, with its defaults beside it.

Every fault is found at once, with its place. ``setup`` asks for a first file and writes it.
"""
