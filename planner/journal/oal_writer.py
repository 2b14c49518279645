"""Writes the journal as OpenAstronomyLog 2.1.

Each part is written and read again at once; what comes out different, or not at all, goes into a
block in one of its text elements (see `oal_block`). So nothing is lost, whatever the schema holds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import astuple, dataclass, field
from datetime import UTC, datetime
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from planner.journal.exchange_fields import (
    ENTRY_FIELDS,
    SESSION_FIELDS,
    TARGET_FIELDS,
    TRAIN_FIELDS,
)
from planner.journal.oal_block import MARKER, lost, with_block
from planner.journal.oal_document import NO_XML, Node, document_text, plain_text
from planner.journal.oal_parts import Optics, entry_of, person, session_of, target_of
from planner.journal.oal_reader import CONTAINERS
from planner.journal.oal_terms import (
    FILTER_TYPES,
    OTHER_FILTER,
    OTHER_TYPE,
    TARGET_TYPES,
    UNKNOWN_VISIBILITY,
    VISIBILITY_OF,
    finding_type,
    seeing_number,
)
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
)
from targets.model import Kind

DATA_SOURCE = "fieldstop"
NO_NAME = "Observer"
LEAST_POWER = 1.0  # of the schema

Record = TypeVar("Record")


def journal_oal(sessions: Sequence[JournalSession], entries: Iterable[JournalEntry]) -> str:
    """Write sessions and entries as a log that the schema of version 2.1 holds for valid.

    Parameters
    ----------
    sessions : sequence of JournalSession
        Those of the entries; others may be among them.
    entries : iterable of JournalEntry

    Returns
    -------
    str
        The document, which says of itself that it is UTF-8.
    """
    looks = list(entries)
    latest: dict[str, datetime] = {}
    for entry in looks:
        latest[entry.session_id] = max(entry.at, latest.get(entry.session_id, entry.at))
    log = _Writer()
    for session in sessions:
        log.add_session(session, until=latest.get(session.id, session.start))
    for entry in looks:
        log.add_entry(entry)
    return document_text(log.root())


def count_unwritable(sessions: Iterable[JournalSession], entries: Iterable[JournalEntry]) -> int:
    """Count the records with characters that XML cannot hold; they stand in a block, escaped."""
    records = [*map(astuple, sessions), *map(astuple, entries)]
    texts = map(_texts, records)
    return sum(any(map(NO_XML.search, group)) for group in texts)


def _texts(values: Iterable[Any]) -> Iterator[str]:
    for value in values:
        if isinstance(value, tuple):
            yield from _texts(value)
        elif isinstance(value, str):
            yield value


@dataclass(slots=True)
class _Written:
    """A session as it was written: its node, and the ids of what it refers to."""

    session: JournalSession
    node_id: str
    observer_id: str
    site_id: str


@dataclass(slots=True)
class _Writer:
    """Collects the parts of a log, equal ones once."""

    parts: dict[str, dict[Hashable, Node]] = field(
        default_factory=lambda: {tag: {} for tag in CONTAINERS.values()}
    )
    written: dict[str, _Written] = field(default_factory=dict)
    observations: list[Node] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    def root(self) -> Node:
        """Give the whole document."""
        root = Node("observations")
        for container, tag in CONTAINERS.items():
            root.add(container).children.extend(self.parts[tag].values())
        root.children.extend(self.observations)
        return root

    def part(self, tag: str, key: Hashable, make: Callable[[str], Node | None]) -> Node | None:
        """Give the part of a key, made when it is not there yet; None when it cannot be made."""
        known = self.parts[tag]
        if key in known:
            return known[key]
        node = make(f"{tag}_{self.numbers[tag] + 1}")
        if node is not None:
            self.numbers[tag] += 1
            known[key] = node
        return node

    def observer(self, name: str) -> Node:
        """Give an observer's node."""
        made = self.part("observer", name, lambda node_id: _observer(name, node_id))
        assert made is not None  # noqa: S101  # anybody can be written
        return made

    def add_session(self, session: JournalSession, *, until: datetime) -> None:
        """Write a session, which ends at a time if it has no end yet."""
        place = (session.site, session.latitude_deg, session.longitude_deg, session.elevation_m)
        site = self.part(
            "site", (*place, session.timezone), lambda node_id: _site(session, node_id)
        )
        assert site is not None  # noqa: S101  # any site can be written
        observer = self.observer(session.observer)
        node = Node("session", attributes={"id": f"session_{session.id}"})
        node.add("begin", _time(session.start))
        node.add("end", _time(session.end or max(until, session.start)))
        node.add("site", site.attributes["id"])
        companions = [self.observer(name) for name in session.companions]
        ids = dict.fromkeys(companion.attributes["id"] for companion in companions)
        for node_id in ids:
            if node_id != observer.attributes["id"]:
                node.add("coObserver", node_id)
        if session.weather:
            node.add("weather", session.weather)
        comments = node.add("comments", with_block(session.comments, {}))
        known = {other.attributes["id"]: person(other) for other in companions}
        shown = tuple(known[child.text] for child in node.all("coObserver"))
        again = _again(
            lambda: session_of(node, site, observer="", companions=shown, first=Node("observation"))
        )
        # Observations name the observer, but a session need not have any.
        values = lost(SESSION_FIELDS, session, again) | {"observer": session.observer}
        _settle(node, comments, session.comments, values)
        self.parts["session"][session.id] = node
        self.written[session.id] = _Written(
            session, node.attributes["id"], observer.attributes["id"], site.attributes["id"]
        )

    def target(self, target: LoggedTarget) -> Node:
        """Give a target's node."""
        node = self.part("target", target, lambda node_id: _target(target, node_id))
        assert node is not None  # noqa: S101  # any target can be written
        return node

    def optics(self, train: LoggedTrain) -> Optics:
        """Give the nodes of what the schema can hold of a train."""
        return Optics(
            self.part("scope", train_key(train, "telescope"), lambda at: _scope(train, at)),
            self.part("eyepiece", train_key(train, "eyepiece"), lambda at: _eyepiece(train, at)),
            self.part("lens", train_key(train, "amplifier"), lambda at: _lens(train, at)),
            self.part("filter", train_key(train, "filter"), lambda at: _filter(train, at)),
        )

    def add_entry(self, entry: JournalEntry) -> None:
        """Write an entry of a session that is written."""
        written = self.written[entry.session_id]
        session = written.session
        target_node = self.target(entry.target)
        optics = self.optics(entry.train)
        node = Node("observation", attributes={"id": f"observation_{entry.id}"})
        node.add("observer", written.observer_id)
        node.add("site", written.site_id)
        node.add("session", written.node_id)
        node.add("target", target_node.attributes["id"])
        node.add("begin", _time(entry.at))
        _add_number(node, "faintestStar", session.faintest_star_mag)
        _add_number(node, "sky-quality", session.sky_mag_arcsec2, unit="mags-per-squarearcsec")
        if seeing := entry.seeing or session.seeing:
            node.add("seeing", str(seeing_number(seeing)))
        _refer(node, optics.scope)
        accessories = node.add("accessories", with_block("", {}))
        _refer(node, optics.eyepiece, optics.lens, optics.filter)
        if entry.train.magnification is not None and entry.train.magnification >= LEAST_POWER:
            node.add("magnification", repr(entry.train.magnification))
        node.children.append(_result(entry, target_node))
        if entry.sketch:
            node.add("image", entry.sketch)
        again = _again(
            lambda: entry_of(node, session=session, target=entry.target, optics=optics, at=entry.at)
        )
        values = lost(ENTRY_FIELDS, entry, again)
        values |= lost(TRAIN_FIELDS, entry.train, again and again.train)
        _settle(node, accessories, "", values)
        self.observations.append(node)


def train_key(train: LoggedTrain, part: str) -> Hashable:
    """Give what makes a part of a train another one than its like."""
    numbers = {
        "telescope": (train.aperture_mm, train.telescope_focal_length_mm),
        "eyepiece": (train.eyepiece_focal_length_mm, train.apparent_field_deg),
        "amplifier": (train.amplifier_factor,),
        "filter": (train.filter_kind,),
    }
    return (getattr(train, part), *numbers[part])


def _again(read: Callable[[], Record]) -> Record | None:
    """Give what is read out of nodes; None where that would be refused."""
    try:
        return read()
    except ValueError:
        return None


def _settle(node: Node, holder: Node, text: str, values: dict[str, Any]) -> None:
    """Put what is lost into a text element, or take the element away when it says nothing."""
    if values or any(line.strip() == MARKER for line in plain_text(text).split("\n")):
        holder.text = plain_text(with_block(text, values))
    elif text:
        holder.text = plain_text(text)
    else:
        node.children.remove(holder)


def _refer(node: Node, *parts: Node | None) -> None:
    for part in parts:
        if part is not None:
            node.add(part.tag, part.attributes["id"])


def _add_number(node: Node, tag: str, value: float | None, **attributes: str) -> None:
    if value is not None:
        node.add(tag, repr(float(value)), **attributes)


def _time(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat()


def _observer(name: str, node_id: str) -> Node:
    first, _, last = (name.strip() or NO_NAME).rpartition(" ")
    node = Node("observer", attributes={"id": node_id})
    node.add("name", first or last)
    node.add("surname", last if first else "")
    return node


def _site(session: JournalSession, node_id: str) -> Node:
    node = Node("site", attributes={"id": node_id})
    node.add("name", session.site)
    node.add("longitude", repr(float(session.longitude_deg or 0.0)), unit="deg")
    node.add("latitude", repr(float(session.latitude_deg or 0.0)), unit="deg")
    _add_number(node, "elevation", session.elevation_m)
    node.add("timezone", str(_standard_offset_min(session)))
    return node


def _standard_offset_min(session: JournalSession) -> int:
    """Give the offset of a session's zone from UT [min], without summer time."""
    local = session.start.replace(tzinfo=UTC).astimezone(ZoneInfo(session.timezone or "UTC"))
    summer, offset = local.dst(), local.utcoffset()
    seconds = (offset.total_seconds() if offset else 0) - (summer.total_seconds() if summer else 0)
    return round(seconds / 60.0)


def _target(target: LoggedTarget, node_id: str) -> Node:
    name, nebula = TARGET_TYPES.get(target.kind, (OTHER_TYPE, ""))
    node = Node("target", attributes={"id": node_id, "xsi:type": f"oal:{name}"})
    node.add("datasource", DATA_SOURCE)
    node.add("name", target.name or target.id)
    if target.name and target.id:
        node.add("alias", target.id)
    if target.ra_deg is not None and target.dec_deg is not None:
        position = node.add("position")
        _add_number(position, "ra", target.ra_deg, unit="deg")
        _add_number(position, "dec", target.dec_deg, unit="deg")
    if target.constellation:
        node.add("constellation", target.constellation)
    notes = node.add("notes", with_block("", {}))
    if name.startswith("deepSky"):
        _add_size(node, target)
        if nebula:
            node.add("nebulaType", nebula)
    elif target.kind == Kind.STAR:
        _add_number(node, "apparentMag", target.magnitude)
    _settle(node, notes, "", lost(TARGET_FIELDS, target, _again(lambda: target_of(node))))
    return node


def _add_size(node: Node, target: LoggedTarget) -> None:
    double = target.kind == Kind.DOUBLE_STAR
    _add_number(node, "smallDiameter", target.minor_arcmin, unit="arcmin")
    if not double:
        _add_number(node, "largeDiameter", target.major_arcmin, unit="arcmin")
    _add_number(node, "visMag", target.magnitude)
    if double and target.major_arcmin is not None:
        _add_number(node, "separation", target.major_arcmin * 60.0, unit="arcsec")


def _scope(train: LoggedTrain, node_id: str) -> Node | None:
    if not (train.telescope and train.aperture_mm and train.telescope_focal_length_mm):
        return None
    node = Node("scope", attributes={"id": node_id, "xsi:type": "oal:scopeType"})
    node.add("model", train.telescope)
    _add_number(node, "aperture", train.aperture_mm)
    _add_number(node, "focalLength", train.telescope_focal_length_mm)
    return node


def _eyepiece(train: LoggedTrain, node_id: str) -> Node | None:
    if not (train.eyepiece and train.eyepiece_focal_length_mm):
        return None
    node = Node("eyepiece", attributes={"id": node_id})
    node.add("model", train.eyepiece)
    _add_number(node, "focalLength", train.eyepiece_focal_length_mm)
    _add_number(node, "apparentFOV", train.apparent_field_deg, unit="deg")
    return node


def _lens(train: LoggedTrain, node_id: str) -> Node | None:
    if not (train.amplifier and train.amplifier_factor):
        return None
    node = Node("lens", attributes={"id": node_id})
    node.add("model", train.amplifier)
    _add_number(node, "factor", train.amplifier_factor)
    return node


def _filter(train: LoggedTrain, node_id: str) -> Node | None:
    if not train.filter:
        return None
    node = Node("filter", attributes={"id": node_id})
    node.add("model", train.filter)
    node.add("type", FILTER_TYPES.get(train.filter_kind, OTHER_FILTER))
    return node


def _result(entry: JournalEntry, target_node: Node) -> Node:
    finding = finding_type(target_node.attributes["xsi:type"].removeprefix("oal:"))
    node = Node("result", attributes={"xsi:type": f"oal:{finding}"} if finding else {})
    node.add("description", _description(entry))
    if finding:
        node.add("rating", str(VISIBILITY_OF.get(entry.outcome, UNKNOWN_VISIBILITY)))
    return node


def _description(entry: JournalEntry) -> str:
    """Put the outcome before the note: the schema has no place for it."""
    words = {
        Outcome.SEEN: "",
        Outcome.SUSPECTED: "Suspected.",
        Outcome.NOT_SEEN: "Not seen.",
        Outcome.SKIPPED: f"Skipped: {entry.why_skipped}." if entry.why_skipped else "Skipped.",
    }
    return " ".join(filter(None, [words[entry.outcome], entry.note]))
