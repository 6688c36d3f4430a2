"""Abbreviations of time zones that several regions share: read by what the site's own zone calls itself."""

from collections.abc import Sequence
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from mv.base.errors import ReadingError
from mv.readers.parsed import Parsed
from mv.readers.stamp_record import NO_OFFSET
from mv.readers.stamp_words import shared_word
from mv.readers.wanted import Wanted

SHARED_NAME = "which several regions use"  # in the refusal that only the site's zone can settle


def settle_zone_names(files: Sequence[Parsed], wanted: Wanted) -> None:
    """Give "CST" and the like the offset they have in the site's zone.

    Raises ReadingError where the site's zone does not use the name and the study states no clock.
    """
    for file in files:
        for stamps in (file.stamps, file.end_stamps):
            if stamps is None or stamps.offset is None:
                continue
            for number in np.unique(stamps.offset[stamps.offset < NO_OFFSET]).tolist():
                word = shared_word(number)
                if word is not None:
                    stamps.offset[stamps.offset == number] = _offset_of(word, file, wanted)


def _offset_of(word: str, file: Parsed, wanted: Wanted) -> int:
    offset = _offsets_of(wanted.site_timezone).get(word)
    if offset is not None:
        file.inferred["zone name"] = f"{word.upper()} as {wanted.site_timezone} uses it"
        return offset
    if wanted.clock:
        return int(NO_OFFSET)
    raise ReadingError(
        f"the stamps say {word.upper()}, {SHARED_NAME} and {wanted.site_timezone} does not",
        file=file.name,
        remedy=f'Set clock in {wanted.table} to the offset meant, such as "-06:00".',
    )


def _offsets_of(zone: str) -> dict[str, int]:
    """The zone's abbreviations of recent years and their seconds east."""
    info = ZoneInfo(zone)
    found: dict[str, int] = {}
    for month in range(1, 13):
        moment = datetime(2024, month, 15, tzinfo=UTC).astimezone(info)
        shift = moment.utcoffset()
        found[(moment.tzname() or "").casefold()] = 0 if shift is None else round(shift.total_seconds())
    return found
