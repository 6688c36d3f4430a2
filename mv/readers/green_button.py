"""Green Button files: ESPI XML (NAESB REQ.21), parsed without entities or network.

Codes of unit, flow and quality are those of the ESPI schema (from memory, held in tests to the
sample files of the format).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from xml.sax import SAXException, SAXParseException

import numpy as np

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.readers.choice import ChoiceError
from mv.readers.espi_events import Block, Entry, Handler, whole_number
from mv.readers.parsed import NO_TIME, OTHER_CHANNEL, OTHER_UNIT, Parsed
from mv.readers.source import Source
from mv.readers.stamp_record import DAY_SECONDS, Stamps
from mv.readers.unit_names import Unit
from mv.readers.wanted import Wanted
from mv.readers.words import plain

# ESPI UnitSymbolKind codes of what a meter may read.
_UNITS = {
    72: Unit("Wh", "energy", "kWh", 1e-3),
    38: Unit("W", "power", "kW", 1e-3),
    5: Unit("A", "current", "A"),
    73: Unit("VArh", "reactive energy", "kVArh"),
    71: Unit("VAh", "apparent energy", "kVAh"),
    63: Unit("VAr", "reactive power", "kVAr"),
    61: Unit("VA", "apparent power", "kVA"),
    29: Unit("V", "voltage", "V"),
    169: Unit("therm", "other", ""),
    42: Unit("m3", "other", ""),
    119: Unit("cubic feet", "other", ""),
    128: Unit("US gallon", "other", ""),
}


_ESTIMATED = {8, 9, 12}  # reference day, linear interpolation, projected


_NO_READING = {10}  # questionable readings are kept; only a missing value is none


_CUMULATIVE = {1, 2, 3, 9}  # bulk quantity, continuous cumulative, cumulative, summation


def is_green_button(head: str) -> bool:
    """True where the text is XML with ESPI content."""
    return (
        head.lstrip("\ufeff \t\r\n").startswith("<")
        and re.search(r"espi|IntervalReading|IntervalBlock", head) is not None
    )


def read_green_button(source: Source, wanted: Wanted) -> Parsed:
    """The one meter reading of electric energy. Raises ReadingError where several may be meant."""
    import defusedxml.sax
    from defusedxml.common import DefusedXmlException

    handler = Handler()
    try:
        with source.stream() as stream:
            defusedxml.sax.parse(stream, handler, forbid_dtd=True)
    except DefusedXmlException as error:
        raise ReadingError(
            "declares entities or a document type, which a meter file does not need",
            file=source.name, value=type(error).__name__, remedy="Ask for the file again.",
        ) from error  # fmt: skip
    except SAXParseException as error:
        raise ReadingError(
            "is not well-formed XML",
            file=source.name,
            place=f"line {error.getLineNumber()}",
            value=error.getMessage(),
            remedy="Download the file again; it may be cut off.",
        ) from error
    except SAXException as error:
        raise ReadingError(
            "cannot be read as ESPI", file=source.name, value=str(error), remedy="Ask for the file again."
        ) from error
    return _parsed(handler, source.name, wanted)


@dataclass
class _Group:
    label: str
    type_entry: Entry | None
    blocks: list[Block]

    def field(self, name: str, missing: int) -> int:
        return missing if self.type_entry is None else whole_number(self.type_entry.fields.get(name), missing)

    @property
    def unit(self) -> Unit | None:
        return _UNITS.get(self.field("uom", -1))


def _groups(handler: Handler) -> list[_Group]:
    """Blocks by the meter reading they belong to, with its reading type."""
    types = {href: e for e in handler.entries if e.kind == "ReadingType" for href in e.links.get("self", [])}
    readings = {h: e for e in handler.entries if e.kind == "MeterReading" for h in e.links.get("self", [])}
    lone = next(iter(types.values())) if len(types) == 1 else None
    if lone is None and not types:
        lone = next((e for e in handler.entries if e.kind == "ReadingType"), None)
    groups: dict[str, _Group] = {}
    for block in handler.blocks:
        href = next(
            (h for h in [*block.links.get("up", []), *block.links.get("self", [])] if "IntervalBlock" in h),
            "",
        )
        base = re.sub(r"/IntervalBlock.*$", "", href)
        entry = readings.get(base)
        related = entry.links.get("related", []) if entry else []
        kind = next((types[h] for h in related if h in types), lone)
        if base not in groups:
            title = kind.title if kind else entry.title if entry else ""
            point = re.search(r"UsagePoint/([^/]+)", base)
            reading = re.search(r"MeterReading/([^/]+)", base)
            parts = [
                f"UsagePoint {point.group(1)}" if point else "",
                f"MeterReading {reading.group(1)}" if reading else "",
                title,
            ]
            groups[base] = _Group(" / ".join(part for part in parts if part) or "readings", kind, [])
        groups[base].blocks.append(block)
    return [group for group in groups.values() if any(block.start for block in group.blocks)]


def _parsed(handler: Handler, name: str, wanted: Wanted) -> Parsed:
    groups = _groups(handler)
    if not groups:
        raise ReadingError(
            "holds no interval reading",
            file=name,
            remedy="Download the interval data, not the bill summary alone.",
        )
    chosen = _choose(groups, wanted, name)
    parsed = _from_group(chosen, name)
    for group in groups:
        if group is chosen:
            continue
        lines = np.array([line for block in group.blocks for line in block.line], np.int32)
        reason = OTHER_CHANNEL if group.unit and group.unit.measures == "energy" else OTHER_UNIT
        before = parsed.unreadable.get(reason)
        parsed.unreadable[reason] = lines if before is None else np.concatenate([before, lines])
    return parsed


def _choose(groups: list[_Group], wanted: Wanted, name: str) -> _Group:
    pool = groups
    if wanted.channel:
        said = plain(wanted.channel)
        pool = [
            g for g in groups if plain(g.label) == said or said in [plain(p) for p in g.label.split(" / ")]
        ]
        if not pool:
            raise ReadingError(
                f"holds no usage point or reading {wanted.channel!r}",
                file=name, value="; ".join(group.label for group in groups),
                remedy=f"Set channel in {wanted.table} to one that is there.",
            )  # fmt: skip
    usable = [g for g in pool if g.unit is None or g.unit.measures in ("energy", "power", "current")]
    energy = [g for g in usable if g.unit and g.unit.measures == "energy"] or usable
    if len(energy) == 1:
        return energy[0]
    if len(energy) > 1:
        lengths = {g.label: _usual_length(g) for g in energy}
        base = {g.label.split(" / ")[0] for g in energy}
        flows = {g.field("flowDirection", 1) for g in energy}
        finest = [g for g in energy if lengths[g.label] == min(lengths.values())]
        if len(base) == 1 and len(flows) == 1 and len(finest) == 1:
            return finest[0]  # hourly readings beside daily sums of the same meter
    raise ChoiceError(
        "holds several meter readings" if energy else "holds no electric energy",
        key="channel",
        choices=[group.label for group in (energy or groups)],
        file=name,
        value="; ".join(
            f"{g.label} ({g.unit.name if g.unit else 'no unit'})" for g in (energy or groups)[:10]
        ),
        remedy=f"Set channel in {wanted.table} to one of them.",
    )


def _usual_length(group: _Group) -> int:
    lengths = [length for block in group.blocks for length in block.length if length > 0]
    return int(np.median(lengths)) if lengths else 10**9


def _flat(lists: Iterable[list[Any]]) -> list[Any]:
    return [item for part in lists for item in part]


def _from_group(group: _Group, name: str) -> Parsed:
    start = np.array(_flat(b.start for b in group.blocks), np.int64)
    length = np.array(_flat(b.length for b in group.blocks), np.int64)
    value = np.array(_flat(b.value for b in group.blocks), float)
    quality = np.array(_flat(b.quality for b in group.blocks))
    lines = np.array(_flat(b.line for b in group.blocks), np.int32)
    power = group.field("powerOfTenMultiplier", 0)
    value = value * 10.0 ** max(min(power, 12), -12)
    stated = group.field("intervalLength", 0)
    length = np.where(length < 0, stated, length)
    readable = (start > 0) & (start < 7 * 10**9)
    safe = np.where(readable, start, 0)
    parsed = Parsed(
        name=name,
        signature=("ESPI", group.label),
        stamps=Stamps(
            readable,
            (safe // DAY_SECONDS).astype(np.int32),
            (safe % DAY_SECONDS).astype(np.int32),
            np.zeros(len(start), np.int32),
            shapes=["ESPI: seconds since 1970 (UTC)"],
        ),
        values=value,
        lines=lines,
        side="start",
        side_why="ESPI states each interval's start and duration",
        seconds=length,
        estimated=np.isin(quality, list(_ESTIMATED)),
        unit=group.unit,
        unit_why=f"from the reading type (code {group.field('uom', -1)}, power of ten {power})",
        register_words=group.field("accumulationBehaviour", 4) in _CUMULATIVE,
    )
    parsed.inferred["channel"] = group.label
    _set_aside(parsed, group)
    known = parsed.seconds if parsed.seconds is not None else length
    sizes, counts = np.unique(known[known > 0], return_counts=True)
    if len(sizes):
        usual = int(sizes[counts.argmax()])
        common = counts.max() >= 0.5 * counts.sum() and len(sizes) <= 20 and counts.max() > 1
        parsed.interval_seconds = usual if common or len(sizes) == 1 else int(np.gcd.reduce(sizes))
        parsed.interval_why = "from the durations"
    return parsed


def _set_aside(parsed: Parsed, group: _Group) -> None:
    parsed.set_aside(NO_TIME, ~parsed.stamps.readable)
    assert parsed.seconds is not None
    empty = (parsed.seconds <= 0) | (parsed.seconds > 400 * DAY_SECONDS)
    parsed.seconds = np.where(empty, 0, parsed.seconds)  # set aside in cleaning, with its energy
    if empty.any():
        energy = float(parsed.values[empty].sum())
        parsed.remarks.append(
            Remark(
                "no-length",
                f"{int(empty.sum())} readings name an interval of no length and are set aside; their "
                "values add "
                f"up to {energy:g} {group.unit.name if group.unit else ''}".rstrip(),
                file=parsed.name,
                lines=", ".join(str(line) for line in parsed.lines[empty][:8]),
            )
        )
