"""Objects of the contracts as text."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any


def json_text(content: Mapping[str, Any]) -> str:
    """Write an object as JSON in plain ASCII; ValueError for a number that is none."""
    return json.dumps(content, indent=2, allow_nan=False) + "\n"
