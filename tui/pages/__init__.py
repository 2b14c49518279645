"""Lines of text made from a scene, for the screens to show.

Imports no Textual.
"""
