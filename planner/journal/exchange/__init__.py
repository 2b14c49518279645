"""The journal in other formats, read without trust: JSON, CSV, OpenAstronomyLog 2.1.

What is kept, and how, is not known here: entries come in and go out.
"""
