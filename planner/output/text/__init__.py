"""Answers as lines of text for a terminal."""
