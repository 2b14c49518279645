"""Reads OpenAstronomyLog 2.1 into lines: one for each observation, and each idle session."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import TypeVar

from planner.journal.exchange.json_format import session_line
from planner.journal.exchange.lines import (
    ExchangeError,
    Line,
    entry_id_of,
    look_words,
    session_id_of,
)
from planner.journal.exchange.oal_from_xml import (
    Optics,
    entry_of,
    is_j2000,
    made_up_session,
    observed_at,
    own_id,
    person,
    session_of,
    target_of,
)
from planner.journal.exchange.oal_from_xml_values import has_offset, needed
from planner.journal.exchange.oal_terms import CONTAINERS
from planner.journal.exchange.oal_xml import Node, elements, read_document
from planner.journal.records import JournalSession, LoggedTarget
from planner.text import nearest, show
from targets.files import watched_items

KNOWN_PARTS = {
    "observer", "site", "session", "target", "begin", "end", "faintestStar", "sky-quality",
    "seeing", "scope", "accessories", "eyepiece", "lens", "filter", "magnification", "imager",
    "result", "image",
}  # fmt: skip

Value = TypeVar("Value")


def read_oal(content: bytes) -> list[Line]:
    """Read a log.

    Returns
    -------
    list of Line
        In the order of the file; sessions without observations at the end.

    Raises
    ------
    ExchangeError
        If it is no such log as a whole.
    """
    root = read_document(content, hollow="observation")
    log, count = _Log(_parts(root)), sum(1 for _ in root.all("observation"))
    del root
    lines: list[Line] = []
    used: set[str] = set()
    for _, node in zip(
        watched_items(range(count), "Reading"), elements(content, "observation"), strict=True
    ):
        lines.append(_line(log, node))
        used.add(node.text_of("session"))
    for raw_id, node in log.parts["session"].items():
        if raw_id not in used:
            lines.append(_idle_line(log, node))
    return lines


def _parts(root: Node) -> dict[str, dict[str, Node]]:
    """Return the nodes of each container by their ids."""
    parts: dict[str, dict[str, Node]] = {}
    lines_of_ids: dict[str, int] = {}
    for container, tag in CONTAINERS.items():
        holder = root.find(container)
        if holder is None:
            raise ExchangeError(
                f"The log has no <{container}>; all nine containers must be there, if empty."
            )
        parts[tag] = {}
        for node in holder.all(tag):
            raw_id = node.attributes.get("id", "")
            _check_id(raw_id, node, lines_of_ids)
            parts[tag][raw_id] = node
    for node in root.all("observation"):
        if "id" in node.attributes:
            _check_id(node.attributes["id"], node, lines_of_ids)
    return parts


def _check_id(raw_id: str, node: Node, lines_of_ids: dict[str, int]) -> None:
    if not raw_id:
        raise ExchangeError(f"The <{node.tag}> on line {node.line} has no id.")
    if raw_id in lines_of_ids:
        first = lines_of_ids[raw_id]
        raise ExchangeError(
            f"The id {show(raw_id)} stands there twice, on the lines {first} and {node.line}."
        )
    lines_of_ids[raw_id] = node.line


SessionKey = tuple[str, str, str]


@dataclass(slots=True)
class _Log:
    """The parts of a log by tag and id, and what was made of them."""

    parts: dict[str, dict[str, Node]]
    targets: dict[str, LoggedTarget | str] = field(default_factory=dict)
    sessions: dict[SessionKey, JournalSession | str] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)

    def part(self, node: Node, tag: str) -> Node | None:
        """Return the node that a child refers to; None when there is no such child."""
        raw_id = node.text_of(tag)
        if not raw_id:
            return None
        if raw_id not in self.parts[tag]:
            guess = nearest(raw_id, self.parts[tag])
            hint = f'; near is "{guess}"' if guess else ""
            raise ValueError(f"<{tag}> refers to {show(raw_id)}, which is not there{hint}")
        return self.parts[tag][raw_id]

    def target(self, node: Node) -> LoggedTarget:
        """Return the target of an observation."""
        needed(node, "target")
        part = self.part(node, "target")
        assert part is not None  # noqa: S101  # a reference is there
        return _once(self.targets, part.attributes["id"], part, lambda: target_of(part))

    def companions(self, session: Node, but: str) -> tuple[str, ...]:
        """Name those who took part in a session, but for one."""
        ids = [child.text.strip() for child in session.all("coObserver")]
        for raw_id in ids:
            if raw_id not in self.parts["observer"]:
                raise ValueError(f"<coObserver> refers to {show(raw_id)}, which is not there")
        return tuple(person(self.parts["observer"][raw_id]) for raw_id in ids if raw_id != but)

    def session(self, node: Node) -> JournalSession:
        """Return the session of an observation, one for each observer and site in it."""
        part = self.part(node, "session")
        site = self.part(node, "site")
        if part is None:
            needed_observer = self.part(node, "observer")
            name = person(needed_observer) if needed_observer else ""
            return made_up_session(observed_at(node, site), site, observer=name)
        return self.session_for(part, site, node.text_of("observer"), node)

    def session_for(
        self, part: Node, site: Node | None, observer: str, first: Node
    ) -> JournalSession:
        """Return the session of a node for an observer, by his id, at a site."""
        site = site or self.part(part, "site")
        raw_id = part.attributes["id"]
        key = (raw_id, observer, site.attributes["id"] if site else "")

        def make() -> JournalSession:
            known = self.parts["observer"].get(observer)
            session = session_of(
                part,
                site,
                observer=person(known) if known else "",
                companions=self.companions(part, observer),
                first=first,
            )
            if raw_id in self.taken:  # by another observer or at another site
                session = replace(session, id=session_id_of(session))
            self.taken.add(raw_id)
            return session

        return _once(self.sessions, key, part, make)


Key = TypeVar("Key")


def _once(known: dict[Key, Value | str], key: Key, part: Node, make: Callable[[], Value]) -> Value:
    """Return what is made of a part, made once; a fault is kept, and raised each time."""
    if key not in known:
        try:
            known[key] = make()
        except ValueError as error:
            known[key] = f"its <{part.tag}> on line {part.line}: {error}"
    value = known[key]
    if isinstance(value, str):
        raise ValueError(value)  # noqa: TRY004
    return value


def _line(log: _Log, node: Node) -> Line:
    place, what = f"line {node.line}", ""
    try:
        if not node.text_of("observer"):
            raise ValueError("<observer> is missing or empty")  # noqa: TRY301
        log.part(node, "observer")
        target = log.target(node)
        what = target.name
        session = log.session(node)
        site = log.part(node, "site") or _session_site(log, node)
        optics = Optics(*(log.part(node, tag) for tag in ("scope", "eyepiece", "lens", "filter")))
        log.part(node, "imager")
        at = observed_at(node, site)
        entry = entry_of(node, session=session, target=target, optics=optics, at=at)
    except ValueError as error:
        return Line(place, what, fault=str(error))
    own = bool(entry.id)
    if not own:
        entry = replace(entry, id=entry_id_of(entry))
    remarks = tuple(_remarks(node, log.part(node, "target")))
    return Line(place, look_words(entry), session, entry, remarks=remarks, own=own)


def _session_site(log: _Log, node: Node) -> Node | None:
    session = log.part(node, "session")
    return log.part(session, "site") if session else None


def _remarks(node: Node, target: Node | None) -> Iterator[str]:
    """Say what of an observation is not kept, or was understood in a certain way."""
    for child in node.children:
        if child.tag not in KNOWN_PARTS:
            yield f"<{child.tag}> is unknown and left out"
    if not has_offset(node.text_of("begin")):
        yield "its time has no offset and is taken for the site's standard time"
    if target is not None and not is_j2000(target):
        yield "its position is not of J2000 and is left out"


def _idle_line(log: _Log, node: Node) -> Line:
    place = f"line {node.line}"
    try:
        session = log.session_for(node, None, "", Node("observation"))
    except ValueError as error:
        return Line(place, fault=str(error))
    line = session_line(place, session)
    return replace(line, own=bool(own_id(node)))
