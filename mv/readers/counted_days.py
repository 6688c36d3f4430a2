"""What days of counted intervals say of the clock: a row a day, or hours numbered through the day."""

import numpy as np
from numpy.typing import NDArray

from mv.readers.stamp_record import DAY_SECONDS
from mv.readers.wall_clock import ClockEvidence, Wall, changes_within

Ordinals = NDArray[np.int32]


def counted_evidence(day: Wall, ordinal: Ordinals, zone: str, interval_seconds: int) -> ClockEvidence:
    """Follows a change where the short day lacks just its skipped hour, or its last one, between whole
    days, or where the long day has an hour more than any other.

    A day that is filled as any other is no evidence: some exports write nought, or a value between,
    into the hour that is skipped. `day`: midnights by the wall clock, one a reading.
    """
    if len(day) == 0 or interval_seconds <= 0:
        return ClockEvidence(0, 0)
    usual = DAY_SECONDS // interval_seconds
    changes = changes_within(zone, day)
    follows = 0
    for low, high in changes.skipped:
        midnight, cells = low - low % DAY_SECONDS, (high - low) // interval_seconds
        first = low % DAY_SECONDS // interval_seconds
        lacking = _lacking(day, ordinal, midnight, usual)
        beside = [_lacking(day, ordinal, midnight + way * DAY_SECONDS, usual) for way in (-1, 1)]
        short = cells > 0 and lacking in (
            frozenset(range(first, first + cells)),
            frozenset(range(usual - cells, usual)),
        )
        follows += short and beside == [frozenset(), frozenset()]
    for low, _ in changes.doubled:
        rows = ordinal[day == low - low % DAY_SECONDS]
        others = ordinal[day != low - low % DAY_SECONDS]
        follows += len(rows) > 0 and len(others) > 0 and int(others.max()) < usual <= int(rows.max())
    return ClockEvidence(int(follows), 0)


def _lacking(day: Wall, ordinal: Ordinals, midnight: int, usual: int) -> frozenset[int]:
    """The intervals of one day that have no value."""
    return frozenset(range(usual)) - frozenset(ordinal[day == midnight].tolist())
