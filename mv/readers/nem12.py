"""NEM12 interval files: record types 100, 200, 300, 400, 900; one day a row.

Source: AEMO, Meter Data File Format Specification NEM12 & NEM13 (record layout and quality
letters from memory, held to the example files of the format in tests). All times are market
time, UTC+10 all year.
"""

from dataclasses import dataclass, field

import numpy as np

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.readers.choice import ChoiceError
from mv.readers.parsed import FLAGGED, OTHER_CHANNEL, OTHER_UNIT, Parsed
from mv.readers.source import Source
from mv.readers.stamp_record import DAY_SECONDS, Stamps
from mv.readers.stamps import read_stamps
from mv.readers.unit_names import Unit, unit_of
from mv.readers.wanted import Wanted
from mv.readers.words import plain

MARKET_CLOCK = "+10:00"
_ESTIMATED = "EFS"  # forward estimate, final substitute, substitute
_INTERVALS = (1, 5, 10, 15, 30, 60)


@dataclass
class Stream:
    """One datastream: what its 200 records say, and its days."""

    nmi: str
    suffix: str
    register: str
    unit_text: str
    minutes: int
    unit: Unit | None
    days: list[str] = field(default_factory=list)
    values: list[list[str]] = field(default_factory=list)
    quality: list[list[str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)

    @property
    def label(self) -> str:
        """What a user calls it."""
        return f"{self.nmi} / {self.suffix}"


def is_nem12(head: str) -> bool:
    """True where the text begins like a NEM12 file."""
    lines = [line for line in head.lstrip("\ufeff").splitlines()[:3] if line.strip()]
    if not lines:
        return False
    first = [cell.strip().strip('"') for cell in lines[0].split(",")]
    if first[0] == "100" and len(first) > 1 and first[1].upper().startswith("NEM1"):
        return True
    return first[0] == "200" and len(first) >= 9 and len(lines) > 1 and lines[1].startswith("300,")


def read_nem12(source: Source, wanted: Wanted) -> Parsed:
    """The one datastream that is the meter. Raises ReadingError for a broken file or several streams."""
    with source.stream() as stream:
        text = stream.read().decode(
            "utf-8" if source.encoding.startswith("utf-16") else source.encoding, "replace"
        )
    streams, remarks = _streams(text.splitlines(), source.name)
    chosen = _choose(streams, wanted, source.name)
    parsed = _parsed(chosen, source.name)
    for other in streams:
        if other in chosen:
            continue
        reason = OTHER_CHANNEL if other.unit and other.unit.measures == "energy" else OTHER_UNIT
        lines = np.repeat(np.array(other.lines, np.int32), 24 * 60 // other.minutes)
        before = parsed.unreadable.get(reason)
        parsed.unreadable[reason] = lines if before is None else np.concatenate([before, lines])
    parsed.remarks += remarks
    return parsed


def _streams(lines: list[str], name: str) -> tuple[list[Stream], list[Remark]]:
    found: dict[tuple[str, ...], Stream] = {}
    current: Stream | None = None
    ended = False
    for number, line in enumerate(lines, 1):
        cells = [cell.strip().strip('"') for cell in line.split(",")]
        kind = cells[0]
        if kind == "100" and len(cells) > 1 and cells[1].upper() != "NEM12":
            raise ReadingError(
                f"is {cells[1]}, which holds no interval readings", file=name, place=f"line {number}",
                remedy="Ask for the NEM12 file.",
            )  # fmt: skip
        if kind == "200":
            current = _stream(cells, number, name, found)
        elif kind == "300":
            _day(cells, number, name, current)
        elif kind == "400":
            _event(cells, number, name, current)
        elif kind == "900":
            ended = True
        elif kind and kind not in ("100", "500"):
            raise ReadingError(
                "is not a record of NEM12", file=name, place=f"line {number}", value=line[:40],
                remedy="Ask for the file again.",
            )  # fmt: skip
    if not any(stream.days for stream in found.values()):
        raise ReadingError("holds no 300 record", file=name, remedy="Ask for the file again.")
    notes = []
    if not ended:
        notes.append(Remark("no-end-record", "the file lacks its 900 record: it may be cut off", file=name))
    return list(found.values()), notes


def _stream(cells: list[str], number: int, name: str, found: dict[tuple[str, ...], Stream]) -> Stream:
    cells += [""] * (10 - len(cells))
    minutes = cells[8]
    if minutes not in map(str, _INTERVALS):
        raise ReadingError(
            "names an interval length that NEM12 does not have",
            file=name,
            place=f"line {number}, field 9",
            value=minutes,
            remedy="Ask for the file again.",
        )
    key = (cells[1], cells[4], cells[3], cells[7].casefold(), minutes)
    if key not in found:
        found[key] = Stream(cells[1], cells[4], cells[3], cells[7], int(minutes), unit_of(cells[7]))
    return found[key]


def _day(cells: list[str], number: int, name: str, stream: Stream | None) -> None:
    if stream is None:
        raise ReadingError(
            "has a 300 record before any 200",
            file=name,
            place=f"line {number}",
            remedy="Ask for the file again.",
        )
    count = 24 * 60 // stream.minutes
    values = cells[2 : 2 + count]
    quality = cells[2 + count] if len(cells) > 2 + count else ""
    whole = len(values) == count and all(_is_number_or_blank(value) for value in values)
    if not whole or not quality[:1].isalpha():
        good = next((n for n, value in enumerate(values) if not _is_number_or_blank(value)), len(values))
        raise ReadingError(
            f"has a day with {good} readings where {count} of {stream.minutes} min are due",
            file=name,
            place=f"line {number}",
            value=",".join(cells[:4]),
            remedy="Ask for the file again; a day that is cut short cannot be placed.",
        )
    stream.days.append(cells[1])
    stream.values.append(values)
    stream.quality.append([quality[:1].upper()] * count)
    stream.lines.append(number)


def _is_number_or_blank(text: str) -> bool:
    if not text:
        return True
    try:
        float(text)
    except ValueError:
        return False
    return True


def _event(cells: list[str], number: int, name: str, stream: Stream | None) -> None:
    """A 400 record: the quality of intervals first to last of the day above."""
    if stream is None or not stream.quality:
        raise ReadingError(
            "has a 400 record before any 300",
            file=name,
            place=f"line {number}",
            remedy="Ask for the file again.",
        )
    try:
        first, last = int(cells[1]), int(cells[2])
    except (ValueError, IndexError):
        first, last = 0, 0
    day = stream.quality[-1]
    if not 1 <= first <= last <= len(day):
        raise ReadingError(
            "has a 400 record whose intervals are not of the day",
            file=name,
            place=f"line {number}",
            value=",".join(cells[:4]),
            remedy="Ask for the file again.",
        )
    day[first - 1 : last] = [cells[3][:1].upper() if len(cells) > 3 else ""] * (last - first + 1)


def _choose(streams: list[Stream], wanted: Wanted, name: str) -> list[Stream]:
    """The streams that are this meter: one, or one in several parts of the file."""
    pool = [stream for stream in streams if stream.days]
    if wanted.channel:
        said = plain(wanted.channel)
        pool = [
            s for s in pool if said in (plain(s.suffix), plain(s.nmi), plain(s.register), plain(s.label))
        ]  # fmt: skip
        if not pool:
            raise ReadingError(
                f"holds no datastream {wanted.channel!r}",
                file=name,
                value="; ".join(stream.label for stream in streams),
                remedy=f"Set channel in {wanted.table} to one that is there.",
            )
    measures = (wanted.quantity,) if wanted.quantity in ("energy", "power") else ("energy", "power")
    active = [s for s in pool if s.unit and s.unit.measures in measures]
    energy = [s for s in active if s.unit and s.unit.measures == "energy"] or active
    if len({(stream.nmi, stream.suffix) for stream in energy}) == 1:
        first = energy[0]
        return [s for s in energy if (s.unit_text, s.minutes) == (first.unit_text, first.minutes)] or energy
    raise ChoiceError(
        "holds several datastreams of energy" if energy else "holds no datastream of active energy",
        key="channel",
        choices=[stream.label for stream in (energy or streams)],
        file=name,
        place="200 records",
        value="; ".join(f"{s.label} ({s.unit_text or 'no unit'})" for s in (energy or streams)),
        remedy=f"Set channel in {wanted.table} to one of them; by the format, E is energy drawn from the "
        "grid and B energy fed into it.",
    )


def _parsed(streams: list[Stream], name: str) -> Parsed:
    first = streams[0]
    count = 24 * 60 // first.minutes
    days = [day for stream in streams for day in stream.days]
    stamps = read_stamps(np.array([day.encode() for day in days], dtype="S16"))
    if not stamps.readable.all():
        bad = int(np.argmin(stamps.readable))
        raise ReadingError(
            "has a day that is no date", file=name, place="line "
                f"{first.lines[min(bad, len(first.lines) - 1)]}",
            value=days[bad], remedy="Ask for the file again.",
        )  # fmt: skip
    cells = [value for stream in streams for row in stream.values for value in row]
    quality = np.array([q for stream in streams for row in stream.quality for q in row])
    slots = np.tile(np.arange(count, dtype=np.int32) * first.minutes * 60, len(days))
    values = np.array([float(cell) if cell else np.nan for cell in cells])
    parsed = Parsed(
        name=name,
        signature=("NEM12",),
        stamps=Stamps(
            np.ones(len(cells), bool),
            np.repeat(stamps.day, count),
            slots,
            shapes=["NEM12: a day's intervals in order"],
        ),
        values=values,
        lines=np.repeat(np.array([n for s in streams for n in s.lines], np.int32), count),
        side="start",
        side_why="NEM12 lists a day's intervals from midnight",
        estimated=np.isin(quality, list(_ESTIMATED)),
        unit=first.unit,
        unit_why=f"from the 200 record ({first.unit_text})",
        clock=MARKET_CLOCK,
        clock_why="NEM12 is in market time, UTC+10 all year",
        interval_seconds=DAY_SECONDS // count,
        interval_why="from the 200 record",
    )
    parsed.inferred["channel"] = f"datastream {first.label!r}"
    if bool(np.asarray(parsed.estimated).any()):
        parsed.inferred["quality"] = "quality letters E, F and S as estimated"
    parsed.set_aside(FLAGGED, quality == "N")
    return parsed
