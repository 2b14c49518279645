"""Writes the journal as OpenAstronomyLog 2.1.

What the schema has a place for stands there, for other programs. The whole record stands in a block
in one of its text elements too (see `oal_extension`), so that nothing is lost.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import UTC, datetime
from functools import cache
from itertools import chain
from typing import Any

from planner.journal.exchange.fields import (
    ENTRY_FIELDS,
    SESSION_FIELDS,
    TRAIN_FIELDS,
    exported_fields,
)
from planner.journal.exchange.oal_extension import with_block
from planner.journal.exchange.oal_terms import CONTAINERS, seeing_number
from planner.journal.exchange.oal_to_xml import (
    add_number,
    eyepiece_node,
    filter_node,
    lens_node,
    observer_node,
    result_node,
    scope_node,
    site_node,
    target_node,
)
from planner.journal.exchange.oal_xml import NO_XML, Node, document_pieces
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
)

LEAST_POWER = 1.0  # of the schema


def oal_pieces(
    sessions: Sequence[JournalSession], entries: Iterable[JournalEntry]
) -> Iterator[str]:
    """Write sessions and entries as a log that the schema of version 2.1 holds for valid.

    Parameters
    ----------
    sessions : sequence of JournalSession
        Those of the entries; others may be among them.
    entries : iterable of JournalEntry
        They are gone through twice: what they refer to comes before them.

    Returns
    -------
    iterator of str
        Pieces of the document, which says of itself that it is UTF-8.
    """
    log = _Writer()
    latest: dict[str, datetime] = {}
    for entry in entries:
        latest[entry.session_id] = max(entry.at, latest.get(entry.session_id, entry.at))
        log.target(entry.target)
        log.optics(entry.train)
    for session in sessions:
        log.add_session(session, until=latest.get(session.id, session.start))
    return document_pieces(log.root(), map(log.observation, entries))


def count_unwritable(sessions: Iterable[JournalSession], entries: Iterable[JournalEntry]) -> int:
    """Count the records with characters that XML cannot hold; they stand in a block, escaped."""
    return sum(map(_is_unwritable, chain(sessions, entries)))


def _is_unwritable(value: Any) -> bool:
    """Whether a text, one of several, or one in a record or its parts cannot be written."""
    if isinstance(value, str):
        return not value.isprintable() and NO_XML.search(value) is not None
    if isinstance(value, tuple):
        return any(map(_is_unwritable, value))
    names = _names_of(value.__class__)
    return any(_is_unwritable(getattr(value, name)) for name in names)


@cache
def _names_of(kind: type) -> tuple[str, ...]:
    return tuple(one.name for one in fields(kind)) if is_dataclass(kind) else ()


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
    numbers: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    def root(self) -> Node:
        """Return the document without its observations."""
        root = Node("observations")
        for container, tag in CONTAINERS.items():
            root.add(container).children.extend(self.parts[tag].values())
        return root

    def part(self, tag: str, key: Hashable, make: Callable[[str], Node | None]) -> Node | None:
        """Return the part of a key, made when it is not there yet; None when it cannot be made."""
        known = self.parts[tag]
        if key in known:
            return known[key]
        node = make(f"{tag}_{self.numbers[tag] + 1}")
        if node is not None:
            self.numbers[tag] += 1
            known[key] = node
        return node

    def observer(self, name: str) -> Node:
        """Return an observer's node."""
        made = self.part("observer", name, lambda node_id: observer_node(name, node_id))
        assert made is not None  # noqa: S101  # anybody can be written
        return made

    def add_session(self, session: JournalSession, *, until: datetime) -> None:
        """Write a session, which ends at a time if it has no end yet."""
        place = (session.site, session.latitude_deg, session.longitude_deg, session.elevation_m)
        site = self.part(
            "site", (*place, session.timezone), lambda node_id: site_node(session, node_id)
        )
        assert site is not None  # noqa: S101  # any site can be written
        observer = self.observer(session.observer)
        node = Node("session", attributes={"id": f"session_{session.id}"})
        node.add("begin", _time(session.start))
        node.add("end", _time(session.end or max(until, session.start)))
        node.add("site", site.attributes["id"])
        companions = [self.observer(name).attributes["id"] for name in session.companions]
        for node_id in dict.fromkeys(companions):
            if node_id != observer.attributes["id"]:
                node.add("coObserver", node_id)
        if session.weather:
            node.add("weather", session.weather)
        values = exported_fields(SESSION_FIELDS, session)
        node.add("comments", with_block(session.comments, values))
        self.parts["session"][session.id] = node
        self.written[session.id] = _Written(
            session, node.attributes["id"], observer.attributes["id"], site.attributes["id"]
        )

    def target(self, target: LoggedTarget) -> Node:
        """Return a target's node."""
        node = self.part("target", target, lambda node_id: target_node(target, node_id))
        assert node is not None  # noqa: S101  # any target can be written
        return node

    def optics(self, train: LoggedTrain) -> tuple[Node | None, ...]:
        """Return the nodes of what the schema can hold of a train: telescope, then what follows."""
        return (
            self.part("scope", train_key(train, "telescope"), lambda at: scope_node(train, at)),
            self.part(
                "eyepiece", train_key(train, "eyepiece"), lambda at: eyepiece_node(train, at)
            ),
            self.part("lens", train_key(train, "amplifier"), lambda at: lens_node(train, at)),
            self.part("filter", train_key(train, "filter"), lambda at: filter_node(train, at)),
        )

    def observation(self, entry: JournalEntry) -> Node:
        """Return the node of an entry of a session that is written."""
        written = self.written[entry.session_id]
        session = written.session
        target = self.target(entry.target)
        scope, *glass = self.optics(entry.train)
        node = Node("observation", attributes={"id": f"observation_{entry.id}"})
        node.add("observer", written.observer_id)
        node.add("site", written.site_id)
        node.add("session", written.node_id)
        node.add("target", target.attributes["id"])
        node.add("begin", _time(entry.at))
        add_number(node, "faintestStar", session.faintest_star_mag)
        add_number(node, "sky-quality", session.sky_mag_arcsec2, unit="mags-per-squarearcsec")
        if seeing := entry.seeing or session.seeing:
            node.add("seeing", str(seeing_number(seeing)))
        _refer(node, scope)
        values = exported_fields(ENTRY_FIELDS, entry) | exported_fields(TRAIN_FIELDS, entry.train)
        node.add("accessories", with_block("", values))
        _refer(node, *glass)
        if entry.train.magnification is not None and entry.train.magnification >= LEAST_POWER:
            node.add("magnification", repr(entry.train.magnification))
        node.children.append(result_node(entry, target))
        if entry.sketch:
            node.add("image", entry.sketch)
        return node


def train_key(train: LoggedTrain, part: str) -> Hashable:
    """Return what makes a part of a train another one than its like."""
    numbers = {
        "telescope": (train.aperture_mm, train.telescope_focal_length_mm),
        "eyepiece": (train.eyepiece_focal_length_mm, train.apparent_field_deg),
        "amplifier": (train.amplifier_factor,),
        "filter": (train.filter_kind,),
    }
    return (getattr(train, part), *numbers[part])


def _refer(node: Node, *parts: Node | None) -> None:
    for part in parts:
        if part is not None:
            node.add(part.tag, part.attributes["id"])


def _time(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat()
