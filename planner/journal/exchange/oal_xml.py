"""XML of OpenAstronomyLog as plain nodes: written with all escapes, read as if it were hostile.

References
----------
OpenAstronomyLog 2.1, schema ``oal21.xsd`` (Pfleger, Lehmann and Lang 2011, Apache 2.0).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from xml.parsers import expat
from xml.sax.saxutils import escape, quoteattr

from planner.journal.exchange.lines import ExchangeError
from planner.text import show
from targets.files import watched

NAMESPACE = "http://groups.google.com/group/openastronomylog"
INSTANCE = "http://www.w3.org/2001/XMLSchema-instance"
ROOT_ATTRIBUTES = {
    "version": "2.1",
    "xmlns:oal": NAMESPACE,
    "xmlns:xsi": INSTANCE,
    "xsi:schemaLocation": f"{NAMESPACE} oal21.xsd",
}
SEPARATOR = "|"
# The schema nests six deep; room is left for extensions.
DEEPEST = 20
MOST_ATTRIBUTES = 50
CHUNK_BYTES = 1 << 16
# What XML 1.0 has no way to write (production 2, Char).
NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(slots=True)
class Node:
    """An element.

    Parameters
    ----------
    tag : str
        Without a prefix.
    text : str
        All its text; empty when it has children.
    attributes : dict
        ``xsi:type`` and the like with the usual prefix.
    line : int
        On which it begins in a file; 0 when it was made here.
    """

    tag: str
    text: str = ""
    attributes: dict[str, str] = field(default_factory=dict)
    children: list[Node] = field(default_factory=list)
    line: int = 0

    def add(self, tag: str, text: str = "", **attributes: str) -> Node:
        """Append a child and give it."""
        child = Node(tag, plain_text(text), attributes)
        self.children.append(child)
        return child

    def find(self, tag: str) -> Node | None:
        """Return the first child of a name."""
        for child in self.children:  # a log asks a hundred times for each look
            if child.tag == tag:
                return child
        return None

    def all(self, tag: str) -> Iterator[Node]:
        """Return the children of a name."""
        return (child for child in self.children if child.tag == tag)

    def text_of(self, tag: str) -> str:
        """Return the text of a child, without blanks around it; empty when there is none."""
        child = self.find(tag)
        return child.text.strip() if child is not None else ""


def plain_text(text: str) -> str:
    """Return a text as it comes out of XML: without what XML cannot hold, lines ended by LF."""
    return NO_XML.sub("", text).replace("\r\n", "\n").replace("\r", "\n")


def document_pieces(root: Node, more: Iterable[Node]) -> Iterator[str]:
    """Write a document, one element in each line.

    Parameters
    ----------
    root : Node
        With the first of its children.
    more : iterable of Node
        Further children of the root, made one after the other.
    """
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    *begin, end = _lines(root, 0)
    yield from begin
    for node in more:
        yield "".join(_lines(node, 1))
    yield end


def _lines(node: Node, depth: int) -> list[str]:
    tag = node.tag if depth else f"oal:{node.tag}"
    attributes = node.attributes if depth else ROOT_ATTRIBUTES
    pairs = "".join(f" {key}={quoteattr(value)}" for key, value in attributes.items())
    indent = " " * depth
    if not node.children:
        return [f"{indent}<{tag}{pairs}>{escape(node.text)}</{tag}>\n"]
    lines = [f"{indent}<{tag}{pairs}>\n"]
    for child in node.children:
        lines += _lines(child, depth + 1)
    lines.append(f"{indent}</{tag}>\n")
    return lines


def read_document(content: bytes, *, hollow: str = "") -> Node:
    """Read a document.

    Parameters
    ----------
    content : bytes
        In any encoding that its declaration names and the reader knows.
    hollow : str
        Children of the root of this name come without what is in them; `elements` gives that.

    Returns
    -------
    Node
        Its root.

    Raises
    ------
    ExchangeError
        If it is not well formed, has a document type or entities of its own (with which a small
        file can fill the memory or read other files), or is nested too deeply.
    """
    builder = _Builder(lambda tag: tag != hollow)
    try:
        for start in watched(range(0, len(content), CHUNK_BYTES), "Opening"):
            builder.parse(content[start : start + CHUNK_BYTES])
        builder.parse(b"")
    except expat.ExpatError as error:
        reason = expat.ErrorString(error.code)
        raise ExchangeError(f"The XML is damaged, line {error.lineno}: {reason}.") from None
    except (LookupError, ValueError) as error:  # of an encoding that there is not
        raise ExchangeError(f"The XML cannot be read: {error}.") from None
    assert builder.root is not None  # noqa: S101  # else expat would have complained
    return builder.root


def elements(content: bytes, tag: str) -> Iterator[Node]:
    """Return the children of the root that have a name, one after the other.

    Parameters
    ----------
    content : bytes
        That `read_document` reads.
    tag : str
    """
    builder = _Builder(lambda other: other == tag)
    for start in (*range(0, len(content), CHUNK_BYTES), len(content)):
        builder.parse(content[start : start + CHUNK_BYTES])
        assert builder.root is not None or not builder.done  # noqa: S101  # the root comes first
        if builder.root is not None:
            builder.root.children.clear()
        yield from (node for node in builder.done if node.tag == tag)
        builder.done.clear()


class _Builder:
    """Builds nodes from what the parser finds.

    Parameters
    ----------
    keeps : callable
        Tells of which children of the root to keep what is in them, by their names.
    """

    def __init__(self, keeps: Callable[[str], bool]) -> None:
        self.keeps = keeps
        self.root: Node | None = None
        self.done: list[Node] = []
        self.open: list[Node] = []
        self.texts: list[str] = []  # since the last tag
        self.is_hollow = False
        self.parser = expat.ParserCreate(namespace_separator=SEPARATOR)
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.texts.append
        self.parser.StartDoctypeDeclHandler = self.refuse
        self.parser.EntityDeclHandler = self.refuse

    def parse(self, content: bytes) -> None:
        """Go on with some of a document; nothing for its end."""
        self.parser.Parse(content, not content)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        depth = len(self.open)
        if depth == DEEPEST:
            raise ExchangeError(
                f"The XML is nested deeper than {DEEPEST} elements, line "
                f"{self.parser.CurrentLineNumber}; a log never is."
            )
        if len(attributes) > MOST_ATTRIBUTES:
            raise ExchangeError(
                f"An element has more than {MOST_ATTRIBUTES} attributes, line "
                f"{self.parser.CurrentLineNumber}."
            )
        if self.is_hollow:
            self.open.append(self.open[1])
            return
        tag = name.rpartition(SEPARATOR)[2] if depth else name
        node = Node(tag, "", {_attribute(key): value for key, value in attributes.items()})
        node.line = self.parser.CurrentLineNumber
        if depth:
            self.open[-1].children.append(node)
        else:
            self.root = node
            _check_root(name, node)
        self.open.append(node)
        self.texts.clear()
        self._hollow(depth == 1 and not self.keeps(tag))

    def end(self, _: str) -> None:
        node = self.open.pop()
        depth = len(self.open)
        if not (self.is_hollow or node.children):  # else it is the blanks between them
            node.text = "".join(self.texts)
        self.texts.clear()
        if depth == 1:
            self.done.append(node)
            self._hollow(False)  # noqa: FBT003

    def _hollow(self, is_hollow: bool) -> None:  # noqa: FBT001
        """Leave out what comes, or take it in again."""
        if is_hollow != self.is_hollow:
            self.is_hollow = is_hollow
            self.parser.CharacterDataHandler = None if is_hollow else self.texts.append

    def refuse(self, *_: object) -> None:
        raise ExchangeError(
            "The XML has a document type or entities of its own, line "
            f"{self.parser.CurrentLineNumber}. They can be made to fill the memory or read other "
            "files, and a log needs none: take them out."
        )


def _attribute(name: str) -> str:
    space, _, local = name.rpartition(SEPARATOR)
    return f"xsi:{local}" if space == INSTANCE else local


def _check_root(name: str, node: Node) -> None:
    if name != f"{NAMESPACE}{SEPARATOR}observations":
        raise ExchangeError(
            f"The root of the XML is {show(name)}; that of an OpenAstronomyLog is "
            f'"observations" in the namespace "{NAMESPACE}".'
        )
    version = node.attributes.get("version", "")
    if version not in {"2.0", "2.1"}:  # 2.1 added nothing but a session's images
        raise ExchangeError(
            f"The OpenAstronomyLog is of version {show(version)}; read are 2.0 and 2.1."
        )
    node.tag = "observations"
