"""Draws the two pictures of the README from the running program.

``python tests/tui/make_pictures.py``
"""

from __future__ import annotations

import asyncio
import html
import re
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))

from conftest import Evening, settle

TEXT = re.compile(
    r'(<text class="[^"]*" )x="([\d.]+)"( y="[\d.]+") textLength="([\d.]+)"([^>]*)>([^<]*)</text>'
)
DOTS = re.compile("[\u2800-\u28ff]")
EXAMPLES = Path(__file__).parents[2] / "examples"
# The night of the README's plan, and a target of it in hand.
PICTURES = {"night.svg": [], "target.svg": ["down", "down", "down", "down", "enter"]}


async def draw(folder: Path, keys: list[str]) -> str:
    """Return a screen as SVG, at 80 by 24."""
    app = Evening(folder).app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot, app)
        for key in keys:
            await pilot.press(key)
            await settle(pilot, app)
        svg = app.export_screenshot(title="fieldstop")
    # No font is fetched from anywhere: the reader's own serves.
    svg = re.sub(r"@font-face \{.*?\}|<!--.*?-->", "", svg, flags=re.DOTALL)
    return TEXT.sub(_in_cells, svg)


def _in_cells(text: re.Match[str]) -> str:
    """Set a line with dots letter by letter: fonts have other widths for dots than for letters."""
    start, left, before, long, after, content = text.groups()
    letters = html.unescape(content)
    if not DOTS.search(letters):
        return text.group()
    cell = float(long) / len(letters)
    at = " ".join(f"{float(left) + k * cell:.1f}" for k in range(len(letters)))
    return f'{start}x="{at}"{before}{after}>{content}</text>'


if __name__ == "__main__":
    for name, keys in PICTURES.items():
        with tempfile.TemporaryDirectory() as folder:
            svg = asyncio.run(draw(Path(folder), keys))
        (EXAMPLES / name).write_text(svg, "utf-8")
