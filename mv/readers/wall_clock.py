"""Wall-clock stamps to UTC: zones, fixed offsets, the hour that comes twice and the one that is skipped."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError

WEEK = 7 * 86_400
MANY_CHANGES = 24  # beyond this a search is quicker than a pass a change
Wall = NDArray[np.int64]
_OFFSET = re.compile(r"^(?:utc|gmt)?\s*([+-])(\d{1,2}):?(\d{2})?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ClockChanges:
    """A zone's changes within a span: UTC moments, offset before the first, offset after each."""

    moments: tuple[int, ...]
    offsets: tuple[int, ...]  # one more than moments

    @property
    def skipped(self) -> list[tuple[int, int]]:
        """Half-open wall-clock spans that never occur."""
        return [
            (moment + before, moment + after)
            for moment, before, after in zip(self.moments, self.offsets, self.offsets[1:], strict=False)
            if after > before
        ]

    @property
    def doubled(self) -> list[tuple[int, int]]:
        """Half-open wall-clock spans that occur twice."""
        return [
            (moment + after, moment + before)
            for moment, before, after in zip(self.moments, self.offsets, self.offsets[1:], strict=False)
            if after < before
        ]


@lru_cache(maxsize=256)
def clock_changes(zone: str, first_week: int, last_week: int) -> ClockChanges:
    """The zone's clock changes between two weeks since 1970, found by halving."""
    info = ZoneInfo(zone)

    def offset(moment: int) -> int:
        shift = datetime.fromtimestamp(moment, UTC).astimezone(info).utcoffset()
        return 0 if shift is None else round(shift.total_seconds())

    moments, offsets = [], [offset(first_week * WEEK)]
    for week in range(first_week, last_week):
        low, high = week * WEEK, (week + 1) * WEEK
        after = offset(high)
        if after == offsets[-1]:
            continue
        before = offsets[-1]
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if offset(middle) == before else (low, middle)
        moments.append(high)
        offsets.append(offset(high))
    return ClockChanges(tuple(moments), tuple(offsets))


def changes_within(zone: str, wall: Wall) -> ClockChanges:
    """The zone's clock changes around the stamps."""
    return clock_changes(zone, int(wall.min()) // WEEK - 1, int(wall.max()) // WEEK + 2)


def fixed_offset(clock: str) -> int | None:
    """Seconds east that a clock such as "-06:00", "UTC" or "GMT+5:30" states; None for a zone."""
    text = clock.strip()
    if text.casefold() in ("utc", "gmt", "z"):
        return 0
    match = _OFFSET.match(text)
    if not match:
        return None
    seconds = int(match.group(2)) * 3600 + int(match.group(3) or 0) * 60
    return seconds if match.group(1) == "+" else -seconds


def checked_clock(clock: str, *, table: str) -> str:
    """The clock as stated, if it is one; raises ReadingError where it is not."""
    if clock == "site" or fixed_offset(clock) is not None or clock in available_timezones():
        return clock
    raise ReadingError(
        f"clock = {clock!r} is not a clock",
        place=table,
        remedy='Give "site", "UTC", a fixed offset such as "-06:00", or an IANA zone.',
    )


def to_utc(wall: Wall, zone: str) -> tuple[Wall, NDArray[np.bool_], int]:
    """UTC seconds of stamps by a zone's clock, in file order; with the mask of stamps that the
    clock skips, and the number of stamps of a doubled hour that stand there once only.

    Of two equal stamps the first is the earlier moment; in a file that runs on through the doubled
    hour and then again, the rows after the step back are the later ones.
    """
    changes = changes_within(zone, wall)
    if not changes.moments:
        return wall - changes.offsets[0], np.zeros(len(wall), bool), 0
    utc = _less_offsets(wall, changes)
    impossible = np.zeros(len(wall), dtype=bool)
    for low, high in changes.skipped:
        impossible |= (wall >= low) & (wall < high)
    unpaired = 0
    for low, high in changes.doubled:
        rows = np.flatnonzero((wall >= low) & (wall < high))
        if len(rows):
            later, single = _later_pass(wall[rows], newest_first=bool(wall[0] > wall[-1]))
            utc[rows[later]] += high - low
            unpaired += single
    return utc, impossible, unpaired


def _less_offsets(wall: Wall, changes: ClockChanges) -> Wall:
    """Wall-clock seconds less the offset in force; a doubled hour counts as its first pass."""
    offsets = changes.offsets
    edges = [m + max(a, b) for m, a, b in zip(changes.moments, offsets, offsets[1:], strict=False)]
    if len(edges) > MANY_CHANGES:
        return wall - np.array(offsets, dtype=np.int64)[np.searchsorted(np.array(edges), wall, side="right")]
    utc = wall - offsets[0]
    for edge, before, after in zip(edges, offsets, offsets[1:], strict=False):
        later = wall >= edge
        cut = int(np.argmax(later))
        if later[cut:].all() and later[cut]:
            utc[cut:] += before - after
        else:
            utc[later] += before - after
    return utc


def _later_pass(wall: Wall, *, newest_first: bool) -> tuple[NDArray[np.bool_], int]:
    """Which stamps of one doubled hour belong to its second pass; how many stand once only."""
    order = np.arange(len(wall))
    if newest_first:
        order = order[::-1]
    run = wall[order]
    later = np.zeros(len(run), dtype=bool)
    back = np.flatnonzero(np.diff(run) < 0)
    _, where, counts = np.unique(run, return_inverse=True, return_counts=True)
    if len(back):
        later[back[0] + 1 :] = True
    else:
        later[1:] = run[1:] == run[:-1]
    out = np.zeros(len(wall), dtype=bool)
    out[order] = later
    return out, int((counts[where] == 1).sum())


@dataclass(frozen=True, slots=True)
class ClockEvidence:
    """How often a run of stamps agrees with a zone's clock changes, and how often it ignores them."""

    follows: int
    ignores: int
    example: str = ""


def clock_evidence(wall: Wall, zone: str, interval_seconds: int) -> ClockEvidence:
    """Look at each clock change inside the stamps: is the skipped hour absent, the doubled one twice?

    `wall` ascends. A change counts only where readings stand on both sides of it. A doubled hour
    that stands once is no evidence by itself: some exports leave one pass out, others never change.
    """
    if len(wall) < 2:
        return ClockEvidence(0, 0)
    changes = changes_within(zone, wall)
    follows = ignores = 0
    example = ""
    for low, high in changes.skipped:
        if not _reaches(wall, low, high, interval_seconds):
            continue
        inside = _count(wall, low + 1, high - 1)
        if inside or (interval_seconds >= high - low and _count(wall, low, high)):
            ignores += 1
            example = _text(low)
        elif interval_seconds <= high - low:
            follows += 1
    for low, high in changes.doubled:
        if not _reaches(wall, low, high, interval_seconds):
            continue
        part = wall[np.searchsorted(wall, low) : np.searchsorted(wall, high + 1)]
        if len(part) - len(np.unique(part)) >= max((high - low) / interval_seconds / 2, 1):
            follows += 1
    return ClockEvidence(follows, ignores, example)


def _reaches(wall: Wall, low: int, high: int, interval: int) -> bool:
    near = max(3 * interval, 3 * 3600)
    return _count(wall, low - near, low) > 0 and _count(wall, high, high + near) > 0


def _count(wall: Wall, low: int, high: int) -> int:
    return int(np.searchsorted(wall, high) - np.searchsorted(wall, low))


def _text(wall: int) -> str:
    return datetime.fromtimestamp(wall, UTC).strftime("%Y-%m-%d %H:%M")


def standard_offset(zone: str, wall: Wall) -> int:
    """The zone's smaller offset around the stamps, seconds east: its standard time."""
    return min(changes_within(zone, wall).offsets)


def offset_text(seconds: int) -> str:
    """An offset as the study file states it, such as "-06:00"."""
    sign = "-" if seconds < 0 else "+"
    return f"{sign}{abs(seconds) // 3600:02d}:{abs(seconds) % 3600 // 60:02d}"


_STATED_OFFSET = re.compile(r"\b(?:utc|gmt)\s*([+-]\s*\d{1,2})(?::?(\d{2}))?(?!\d)", re.IGNORECASE)
_STATED_UTC = re.compile(r"(?:^|[^a-z])(?:utc|gmt|zulu)(?:$|[^a-z])", re.IGNORECASE)
_STATED_STANDARD = re.compile(
    r"standard time|winter ?time|winterzeit|no dst|without dst|heure d.hiver|normalzeit|dst[: =]+(?:no|off|"
    r"false)",
    re.IGNORECASE,
)
_STATED_ZONE = re.compile(r"\b([A-Z][A-Za-z]+/[A-Z][A-Za-z_]+(?:/[A-Z][A-Za-z_]+)?)\b")
_STATED_LOCAL = re.compile(r"local ?time|\(local\)|\blocal\b|ortszeit|heure locale|_local", re.IGNORECASE)


def clock_in_words(text: str, zone: str, wall: Wall) -> tuple[str, str] | None:
    """The clock that headings or preamble state, and the words that do; None where none do."""
    if (match := _STATED_ZONE.search(text)) and match.group(1) in available_timezones():
        return match.group(1), match.group(0)
    if match := _STATED_OFFSET.search(text):
        hours = int(match.group(1).replace(" ", ""))
        minutes = int(match.group(2) or 0) * (-1 if "-" in match.group(1) else 1)
        return offset_text(hours * 3600 + minutes * 60), match.group(0)
    if match := _STATED_STANDARD.search(text):
        return offset_text(standard_offset(zone, wall)), match.group(0)
    if match := _STATED_UTC.search(text.replace("_", " ")):
        return "UTC", match.group(0).strip()
    if match := _STATED_LOCAL.search(text):
        return "site", match.group(0)
    return None
