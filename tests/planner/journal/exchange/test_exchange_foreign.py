"""Logs of other programs are understood, whatever their habits."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from lxml import etree

from planner.journal.exchange.formats import read_journal
from planner.journal.exchange.lines import Line, identified, sort_out
from planner.journal.records import LoggedTarget, Outcome

HERE = Path(__file__).parent
LOG = HERE / "foreign_log.xml"
SCHEMA = HERE.parents[2] / "references" / "openastronomylog" / "oal21.xsd"
ARCSECOND_DEG = 1.0 / 3600.0


@pytest.fixture(scope="module")
def lines() -> list[Line]:
    """Read the log."""
    return read_journal(LOG.read_bytes())


def test_the_log_is_one(lines: list[Line]) -> None:
    """The published schema holds the hand-written log for valid, and all of it is read."""
    etree.XMLSchema(etree.parse(SCHEMA)).assertValid(etree.parse(LOG))
    assert [line.fault for line in lines] == [""] * 7


def test_a_zoom_angles_and_units(lines: list[Line]) -> None:
    """The magnification tells the zoom's setting; rad, arcmin and arcsec come out in our units."""
    entry, session = lines[0].entry, lines[0].session
    assert entry is not None
    assert session is not None
    assert entry.at == datetime(2019, 8, 30, 20, 15, tzinfo=UTC)
    assert entry.train.eyepiece_focal_length_mm == pytest.approx(1218.0 / 101.5)
    assert entry.train.exit_pupil_mm == pytest.approx(203.0 / 101.5)
    assert entry.train.telescope == "own make 8 inch"
    # Worked by hand: 4.3708 rad = 250.4284 deg; 2187.68' = 36.4613 deg; 1200" = 20'.
    assert entry.target.ra_deg == pytest.approx(250.4284, abs=ARCSECOND_DEG)
    assert entry.target.dec_deg == pytest.approx(36.46133, abs=ARCSECOND_DEG)
    assert entry.target.major_arcmin == pytest.approx(20.0)
    assert (entry.outcome, entry.seeing, entry.rating) == (Outcome.SEEN, "II", None)
    assert entry.note == (
        "Herrlich, bis zur Mitte aufgelöst & hell.\nVisibility 1 of 1 (plain) to 7 (not seen).\n"
        "Estimated small diameter 12'.\nMarked resolved."
    )
    # 8 deg E, 47 deg N; a square arcminute is 8.89 mag fainter in all than a square arcsecond.
    assert session.longitude_deg == pytest.approx(8.0)
    assert session.latitude_deg == pytest.approx(47.0)
    assert session.timezone == "Europe/Zurich"
    assert session.evening == date(2019, 8, 30)
    assert session.sky_mag_arcsec2 == pytest.approx(12.2 + 8.8908, abs=0.001)
    assert session.faintest_star_mag == 6.2
    assert session.comments == "Föhn, später klar\nEquipment: Kübel"


def test_observers_have_sessions_of_their_own(lines: list[Line]) -> None:
    """Two observers in one session are two sessions of the journal, each with the other there."""
    first, second = lines[0].session, lines[1].session
    assert first is not None
    assert second is not None
    assert (first.observer, first.companions) == ("Jürg Müßig", ("Zoë Ånd",))
    assert second.observer == "Zoë Ånd"
    assert first.id != second.id
    assert lines[2].session == first


def test_double_star_without_offset(lines: list[Line]) -> None:
    """A time without offset is standard time of the site, and is remarked; the pair has its gap."""
    entry = lines[1].entry
    assert entry is not None
    assert entry.at == datetime(2019, 8, 30, 21, 40, tzinfo=UTC)
    assert "standard time" in lines[1].remarks[0]
    assert entry.target.kind == "double star"
    assert entry.target.major_arcmin == pytest.approx(34.5 / 60.0)
    assert entry.train.magnification == pytest.approx(1218.0 * 2.0 / 10.0)
    assert entry.train.apparent_field_deg == pytest.approx(60.0)
    assert entry.note == "Gold and blue.\nMain star yellow.\nCompanion blue."


def test_not_seen_suspected_and_the_rest(lines: list[Line]) -> None:
    """What the rating or the description says of the outcome is understood."""
    veil, mira, fuzz, venus, idle = lines[2:]
    assert veil.entry is not None
    assert veil.entry.outcome is Outcome.NOT_SEEN
    assert (veil.entry.target.kind, veil.entry.train.filter_kind) == ("supernova remnant", "oiii")
    assert "Faintest star 6.4 mag.\nAccessories: black cloth." in veil.entry.note
    assert mira.entry is not None
    assert mira.entry.train.magnification == 10.0
    assert mira.entry.train.true_field_deg == pytest.approx(6.5)
    assert mira.entry.train.exit_pupil_mm == pytest.approx(5.0)
    assert "Estimated magnitude 8.4, uncertain." in mira.entry.note
    assert fuzz.entry is not None
    assert (fuzz.entry.outcome, fuzz.entry.note) == (Outcome.SUSPECTED, "Comes and goes.")
    assert fuzz.entry.target.ra_deg is None
    assert "not of J2000" in fuzz.remarks[0]
    assert venus.entry is not None
    assert venus.entry.target.kind == "planet"
    assert idle.entry is None
    assert idle.session is not None
    assert idle.session.weather == "rain"


def test_targets_are_known_by_the_catalogue(lines: list[Line]) -> None:
    """A name that the catalogue knows gets its id; the file's own figures stay."""
    known = LoggedTarget(
        "NGC6205", "M13 Cluster", "x", "Her", 1.0, 2.0, magnitude=7.0, minor_arcmin=5.0
    )
    found = list(identified(lines, {"m 13": known}.get))
    assert found[0].entry is not None
    target = found[0].entry.target
    assert (target.id, target.name, target.kind) == ("NGC6205", "m 13", "globular cluster")
    assert (target.magnitude, target.minor_arcmin, target.constellation) == (5.8, 5.0, "Hercules")
    assert found[4] == lines[4]
    (line,) = read_journal(b"target_name,target_id,at\nCluster,M 13,2026-01-01T20:00Z\n")
    (other,) = identified([line], {"M 13": known}.get)
    assert other.entry is not None
    assert (other.entry.target.id, other.entry.target.name) == ("NGC6205", "Cluster")


def test_the_same_log_again_is_known(lines: list[Line]) -> None:
    """Ids made of the content are the same on each reading; other ids of the same look are seen."""
    first = sort_out(lines)
    assert len(first.entries) == 6
    assert len(first.sessions) == 6
    again = sort_out(read_journal(LOG.read_bytes()), sessions=first.sessions, entries=first.entries)
    assert (again.sessions, again.entries) == ((), ())
    other = LOG.read_text("iso-8859-1").replace("Thin crescent", "Thin  crescent")
    renamed = sort_out(
        read_journal(other.encode("iso-8859-1")), sessions=first.sessions, entries=first.entries
    )
    assert renamed.entries == ()


def test_a_target_has_a_name_and_a_session_an_order() -> None:
    """Without our block the elements of the schema count, and what cannot be is refused."""
    log = LOG.read_text("iso-8859-1")

    def faults(pattern: str, new: str) -> str:
        damaged = re.sub(pattern, new, log, flags=re.DOTALL).encode("iso-8859-1")
        return " ".join(line.fault for line in read_journal(damaged))

    assert "the target has no name" in faults("(<target .*?<name>)[^<]*", r"\1 ")
    assert "<end> is before <begin>" in faults("(<session .*?<end>)[0-9]{4}", r"\g<1>1999")


def test_a_plain_table_by_hand() -> None:
    """A few columns with a byte order mark are enough; local times keep to their evening."""
    table = (
        "\ufefftarget_name,at,eyepiece,session_site,note\n"
        'M 42,2026-01-10 01:30+11:00,25 mm,Farm,"said ""wow"""\n'
        "M 41,2026-01-09 23:10+11:00,25 mm,Farm,\n"
    )
    first, second = read_journal(table.encode())
    assert first.entry is not None
    assert first.session is not None
    assert first.entry.note == 'said "wow"'
    assert first.entry.at == datetime(2026, 1, 9, 14, 30, tzinfo=UTC)
    assert (first.session.site, first.session.evening) == ("Farm", date(2026, 1, 9))
    arrival = sort_out([first, second])
    assert len(arrival.sessions) == 1
    assert arrival.sessions[0].start == datetime(2026, 1, 9, 12, 10, tzinfo=UTC)
