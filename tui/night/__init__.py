"""Runs a night behind the screens: opens it, makes moves, writes the journal.

Imports no Textual.
"""
