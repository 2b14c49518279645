"""Questions over a screen; each gives an answer of its own kind."""
