"""The entries and interval readings of an ESPI file, each with its line."""

from dataclasses import dataclass, field
from typing import Any
from xml.sax import SAXException
from xml.sax.handler import ContentHandler


@dataclass
class Block:
    """Readings under one entry: the links tell the meter reading and its type."""

    links: dict[str, list[str]]
    start: list[int] = field(default_factory=list)
    length: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)
    quality: list[int] = field(default_factory=list)
    line: list[int] = field(default_factory=list)


@dataclass
class Entry:
    """One Atom entry: its links, title and the ESPI resource it holds."""

    links: dict[str, list[str]] = field(default_factory=dict)
    title: str = ""
    kind: str = ""
    fields: dict[str, str] = field(default_factory=dict)


class Handler(ContentHandler):
    """Collects entries and readings with their lines; knows elements by their local name."""

    def __init__(self) -> None:
        super().__init__()
        self.entries: list[Entry] = []
        self.blocks: list[Block] = []
        self._entry = Entry()
        self._path: list[str] = []
        self._text: list[str] = []
        self._reading: dict[str, Any] | None = None

    def startElement(self, name: str, attrs: Any) -> None:  # noqa: N802
        tag = name.rpartition(":")[2]
        self._path.append(tag)
        self._text = []
        if len(self._path) > 64:
            raise SAXException("elements nested too deeply")
        if tag == "entry":
            self._entry = Entry()
            self.entries.append(self._entry)
        elif tag == "link":
            self._entry.links.setdefault(attrs.get("rel", ""), []).append(attrs.get("href", ""))
        elif tag in ("UsagePoint", "ReadingType", "MeterReading", "LocalTimeParameters", "IntervalBlock"):
            self._entry.kind = tag
            if tag == "IntervalBlock":
                self.blocks.append(Block(self._entry.links))
        elif tag == "IntervalReading":
            locator = getattr(self, "_locator", None)  # set by the parser
            self._reading = {"line": (locator.getLineNumber() if locator else 0) or 0}

    def characters(self, content: str) -> None:
        if sum(map(len, self._text)) < 10_000:
            self._text.append(content)

    def endElement(self, name: str) -> None:  # noqa: N802
        tag = name.rpartition(":")[2]
        text = "".join(self._text).strip()
        self._text = []
        self._path.pop()
        if tag == "IntervalReading" and self._reading is not None:
            self._close_reading(self._reading)
            self._reading = None
        elif self._reading is not None:
            if tag in ("start", "duration", "value", "quality"):
                self._reading[tag] = text
        elif self._entry.kind in ("ReadingType", "LocalTimeParameters", "UsagePoint") and text:
            self._entry.fields.setdefault(tag, text)
        if tag == "title" and text:
            self._entry.title = text

    def _close_reading(self, reading: dict[str, Any]) -> None:
        if not self.blocks:
            self.blocks.append(Block({}))
        block = self.blocks[-1]
        block.start.append(whole_number(reading.get("start"), -1))
        block.length.append(whole_number(reading.get("duration"), -1))
        block.value.append(_number(reading.get("value")))
        block.quality.append(whole_number(reading.get("quality"), 0))
        block.line.append(int(reading["line"]))


def whole_number(text: object, missing: int) -> int:
    try:
        number = int(str(text))
    except ValueError:
        return missing
    return number if abs(number) < 10**11 else missing


def _number(text: object) -> float:
    try:
        return float(str(text))
    except ValueError:
        return float("nan")
