"""A rise of the load that vacant lamps leave, which is no lamp: standby grown, or a small load added.

Where the lamps rest at a low level inside the hours, a schedule that is lost brings the nights up to
that level; nights that rise to less are another load's doing. Where lamps go off when vacant, by day as
by night, a load that adds to both alike is no low level either.
"""

import itertools
from collections.abc import Sequence

from mv.controls.common_changes import CommonChange
from mv.controls.steps import Level
from mv.controls.vacant_days import LIT_ABOVE_BASE, MOST_ALWAYS_ON

AT_FLOOR = 0.02  # level above the floor within which lamps count as off; common practice, no source
SAME_RISE = 0.02  # level by which the rise by day and by night may differ; common practice, no source


def floor_rise(night: Sequence[Level], low: Sequence[Level], base: float) -> CommonChange | None:
    """The last rise of the vacant load outside hours that lamps do not explain; None where they may.

    `night` and `low`: levels when vacant outside and inside opening hours; `base`: the lowest load.
    """
    rises = [(a, b) for a, b in itertools.pairwise(night) if b.value > a.value]
    if not rises or not low:
        return None
    before, after = rises[-1]
    off_before = before.value <= base + AT_FLOOR
    if not off_before or after.value > MOST_ALWAYS_ON or night[-1].value < after.value - SAME_RISE:
        return None
    more = after.value - before.value
    first, last = low[0].value, low[-1].value
    if first > base + LIT_ABOVE_BASE:
        lamps = last - after.value < LIT_ABOVE_BASE or abs(last - first) > LIT_ABOVE_BASE + more
    else:
        lamps = abs(last - first - more) > SAME_RISE
    return None if lamps else CommonChange(after.first_day, more, 1.0, "floor")


def rests_at_floor(low: Sequence[Level], base: float) -> bool:
    """True where lamps went off when vacant in opening hours to begin with."""
    return bool(low) and low[0].value <= base + LIT_ABOVE_BASE
