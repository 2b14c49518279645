"""The user's own lists of targets: read from tables of all kinds, kept, listed, removed."""
