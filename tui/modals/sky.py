"""What the sky and the optics are like by now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.config.conditions import HAZE_MAG, SKY_MAG_RANGE
from planner.model.antoniadi import ANTONIADI
from planner.session.state import SkyReadings
from tui.modals.asking import Asking

LONGEST_READING = 5


class SkyScreen(Asking[SkyReadings]):
    """Seeing, transparency, a reading of the sky, dew: one key each.

    Parameters
    ----------
    readings : SkyReadings
        As it was said last.
    usual_seeing : str
        Of the site.
    usual_mag_arcsec2 : float
        Of the site.
    """

    title_text = "What is the sky like now?"

    def __init__(
        self, readings: SkyReadings, *, usual_seeing: str, usual_mag_arcsec2: float
    ) -> None:
        super().__init__()
        self._readings = readings
        self._usual_seeing, self._usual_mag = usual_seeing, usual_mag_arcsec2
        self._typed: str | None = None
        self._said = ""

    def body(self) -> tuple[Sequence[str], range | None]:
        """Show the readings and their keys."""
        readings = self._readings
        seeing = readings.seeing or f"{self._usual_seeing} (usual here)"
        clear = f"{readings.transparency} of 5" if readings.transparency else "clear"
        sky = readings.sky_mag_arcsec2
        shown = f"{sky:g}" if sky else f"{self._usual_mag:g} (usual here)"
        shown = f"{self._typed}_" if self._typed is not None else shown
        return [
            f"s  seeing          {seeing:<18} I perfect .. V very bad",
            f"t  transparency    {clear:<18} 5 clear .. 1 thick haze",
            f"r  sky reading     {shown:<18} mag/arcsec2 at the zenith",
            f"w  dew             {'on the optics' if readings.has_dew else 'none':<18}",
            "",
            self._said,
            "s, t, w: the next one; r, then digits; Enter takes it all; Esc back",
        ], None

    def press(self, key: str, character: str | None) -> bool:
        """Change a reading, or take them all."""
        self._said = ""
        if self._typed is not None:
            taken = self._type(key, character or "")
        else:
            taken = self._take(key, character or "")
        if taken and self.is_current:
            self.redraw()
        return taken

    def _take(self, key: str, character: str) -> bool:
        readings = self._readings
        if key == "enter":
            self.answer(readings)
        elif character == "s":
            now = readings.seeing or self._usual_seeing
            at = (ANTONIADI.index(now) + 1) % len(ANTONIADI)
            self._readings = replace(readings, seeing=ANTONIADI[at])
        elif character == "t":
            lower = (readings.transparency or max(HAZE_MAG)) - 1
            self._readings = replace(readings, transparency=lower or max(HAZE_MAG))
        elif character == "w":
            self._readings = replace(readings, has_dew=not readings.has_dew)
        elif character == "r":
            self._typed = ""
        else:
            return False
        return True

    def _type(self, key: str, character: str) -> bool:
        """Type a reading; Enter ends it."""
        if key == "enter":
            self._keep(self._typed or "")
        elif key == "escape":
            self._typed = None
        elif key == "backspace":
            self._typed = (self._typed or "")[:-1]
        elif character in {*"0123456789", ".", ","}:
            self._typed = ((self._typed or "") + character.replace(",", "."))[:LONGEST_READING]
        else:
            return False
        return True

    def _keep(self, typed: str) -> None:
        self._typed = None
        low, high = SKY_MAG_RANGE
        try:
            value = float(typed) if typed else None
        except ValueError:
            value = 0.0
        if value is not None and not low <= value <= high:
            self._said = f"{typed} cannot be; a sky lies between {low:g} and {high:g} mag/arcsec2."
            return
        self._readings = replace(self._readings, sky_mag_arcsec2=value)
