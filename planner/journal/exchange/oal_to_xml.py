"""Makes the nodes of OpenAstronomyLog of what the journal's records hold."""

from __future__ import annotations

from planner.journal.exchange.fields import TARGET_FIELDS, exported_fields
from planner.journal.exchange.oal_extension import with_block
from planner.journal.exchange.oal_terms import (
    FILTER_TYPES,
    OTHER_FILTER,
    OTHER_TYPE,
    TARGET_TYPES,
    UNKNOWN_VISIBILITY,
    VISIBILITY_OF,
    finding_type,
)
from planner.journal.exchange.oal_xml import Node
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
    session_zone,
)
from targets.model import Kind

DATA_SOURCE = "fieldstop"
NO_NAME = "Observer"


def add_number(node: Node, tag: str, value: float | None, **attributes: str) -> None:
    """Add a number to a node, unless it is None."""
    if value is not None:
        node.add(tag, repr(float(value)), **attributes)


def observer_node(name: str, node_id: str) -> Node:
    """Make an observer; the last word of the name is taken for the surname."""
    first, _, last = (name.strip() or NO_NAME).rpartition(" ")
    node = Node("observer", attributes={"id": node_id})
    node.add("name", first or last)
    node.add("surname", last if first else "")
    return node


def site_node(session: JournalSession, node_id: str) -> Node:
    """Make the site of a session."""
    node = Node("site", attributes={"id": node_id})
    node.add("name", session.site)
    node.add("longitude", repr(float(session.longitude_deg or 0.0)), unit="deg")
    node.add("latitude", repr(float(session.latitude_deg or 0.0)), unit="deg")
    add_number(node, "elevation", session.elevation_m)
    node.add("timezone", str(_standard_offset_min(session)))
    return node


def _standard_offset_min(session: JournalSession) -> int:
    """Return the offset of a session's zone from UT [min], without summer time."""
    local = session.start.astimezone(session_zone(session))
    summer, offset = local.dst(), local.utcoffset()
    seconds = (offset.total_seconds() if offset else 0) - (summer.total_seconds() if summer else 0)
    return round(seconds / 60.0)


def target_node(target: LoggedTarget, node_id: str) -> Node:
    """Make a target; the whole of it stands in its notes."""
    name, nebula = TARGET_TYPES.get(target.kind, (OTHER_TYPE, ""))
    node = Node("target", attributes={"id": node_id, "xsi:type": f"oal:{name}"})
    node.add("datasource", DATA_SOURCE)
    node.add("name", target.name or target.id)
    if target.name and target.id:
        node.add("alias", target.id)
    if target.ra_deg is not None and target.dec_deg is not None:
        position = node.add("position")
        add_number(position, "ra", target.ra_deg, unit="deg")
        add_number(position, "dec", target.dec_deg, unit="deg")
    if target.constellation:
        node.add("constellation", target.constellation)
    node.add("notes", with_block("", exported_fields(TARGET_FIELDS, target)))
    if name.startswith("deepSky"):
        _add_size(node, target)
        if nebula:
            node.add("nebulaType", nebula)
    elif target.kind == Kind.STAR:
        add_number(node, "apparentMag", target.magnitude)
    return node


def _add_size(node: Node, target: LoggedTarget) -> None:
    double = target.kind == Kind.DOUBLE_STAR
    add_number(node, "smallDiameter", target.minor_arcmin, unit="arcmin")
    if not double:
        add_number(node, "largeDiameter", target.major_arcmin, unit="arcmin")
    add_number(node, "visMag", target.magnitude)
    if double and target.major_arcmin is not None:
        add_number(node, "separation", target.major_arcmin * 60.0, unit="arcsec")


def scope_node(train: LoggedTrain, node_id: str) -> Node | None:
    """Make the telescope of a train; None where the schema wants more than is known."""
    if not (train.telescope and train.aperture_mm and train.telescope_focal_length_mm):
        return None
    node = Node("scope", attributes={"id": node_id, "xsi:type": "oal:scopeType"})
    node.add("model", train.telescope)
    add_number(node, "aperture", train.aperture_mm)
    add_number(node, "focalLength", train.telescope_focal_length_mm)
    return node


def eyepiece_node(train: LoggedTrain, node_id: str) -> Node | None:
    """Make the eyepiece of a train; None where the schema wants more than is known."""
    if not (train.eyepiece and train.eyepiece_focal_length_mm):
        return None
    node = Node("eyepiece", attributes={"id": node_id})
    node.add("model", train.eyepiece)
    add_number(node, "focalLength", train.eyepiece_focal_length_mm)
    add_number(node, "apparentFOV", train.apparent_field_deg, unit="deg")
    return node


def lens_node(train: LoggedTrain, node_id: str) -> Node | None:
    """Make the amplifier of a train; None where the schema wants more than is known."""
    if not (train.amplifier and train.amplifier_factor):
        return None
    node = Node("lens", attributes={"id": node_id})
    node.add("model", train.amplifier)
    add_number(node, "factor", train.amplifier_factor)
    return node


def filter_node(train: LoggedTrain, node_id: str) -> Node | None:
    """Make the filter of a train; None when there was none."""
    if not train.filter:
        return None
    node = Node("filter", attributes={"id": node_id})
    node.add("model", train.filter)
    node.add("type", FILTER_TYPES.get(train.filter_kind, OTHER_FILTER))
    return node


def result_node(entry: JournalEntry, target: Node) -> Node:
    """Make the result of an observation, of the most specific type for its target."""
    finding = finding_type(target.attributes["xsi:type"].removeprefix("oal:"))
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
