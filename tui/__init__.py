"""At the telescope: the screens of a night under way."""

import os

# A frame is drawn at most so often; the library's own 60 a second adds up to 16 ms to every key.
os.environ.setdefault("TEXTUAL_FPS", "120")
