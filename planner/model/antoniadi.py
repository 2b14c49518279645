"""The Antoniadi scale of how steady the air is."""

from __future__ import annotations

ANTONIADI = ("I", "II", "III", "IV", "V")
STEPS_ALLOWED = "I (steady), II, III, IV or V (very bad), or 1 to 5"


def antoniadi_step(text: str) -> int:
    """Read a step of the Antoniadi scale.

    Parameters
    ----------
    text : str
        ``"I"`` .. ``"V"`` or ``"1"`` .. ``"5"``, in any case.

    Returns
    -------
    int
        1 (steady) .. 5 (very bad).

    Raises
    ------
    ValueError
        With a sentence that names what is allowed.
    """
    word = text.strip().upper()
    if word in ANTONIADI:
        return ANTONIADI.index(word) + 1
    if word in {"1", "2", "3", "4", "5"}:
        return int(word)
    raise ValueError(f'Seeing "{text}" is not on the Antoniadi scale; use {STEPS_ALLOWED}.')
