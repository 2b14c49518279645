"""At the telescope: the screens of a night under way."""
