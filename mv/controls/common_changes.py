"""Changes that move every level of a zone at once, and so are no setting: load added, lamps failed.

A load put on the circuit lifts the floor, the vacant and the full level by the same amount. Failed
lamps lower every lit level by the same factor and leave the floor alone. Settings are read after
both are taken off.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from mv.controls.steps import Level

NEAR_DAYS = 4  # by which the dates of one event may differ; common practice, no source
SAME_AMOUNT = 0.20  # relative difference of two steps that counts as the same; no source
SAME_LEVEL = 0.012  # level; the same in absolute terms; common practice, no source
LEAST_AMOUNT = 0.02  # level; a smaller common change is left alone; common practice, no source
LEAST_LOW = 0.05  # level when vacant from which a common factor can be seen; no source


@dataclass(frozen=True, slots=True)
class CommonChange:
    """From `day` on every level is `factor` x what it was + `added`. kind: added or failed."""

    day: int
    added: float
    factor: float
    kind: str

    def undone(self, value: float) -> float:
        """What a level would be without the change."""
        return (value - self.added) / self.factor


def common_changes(
    trim: Sequence[Level], low: Sequence[Level], floor: Sequence[Level], base: float
) -> list[CommonChange]:
    """The common changes in order of time."""
    found = []
    for before, after in itertools.pairwise(trim):
        step = after.value - before.value
        if abs(step) < LEAST_AMOUNT:
            continue
        at_floor, when_vacant = _step_between(floor, before, after), _step_between(low, before, after)
        if at_floor is not None and _same(step, at_floor[1].value - at_floor[0].value):
            day = min(at_floor[1].first_day, after.first_day)
            found.append(CommonChange(day, step, 1.0, "added"))
        elif step < 0 and when_vacant is not None and _same_factor(before, after, when_vacant, base):
            day = min(when_vacant[1].first_day, after.first_day)
            factor = (after.value - base) / (before.value - base)
            found.append(CommonChange(day, 0.0, factor, "failed"))
    return found


def _step_between(levels: Sequence[Level], before: Level, after: Level) -> tuple[Level, Level] | None:
    """The levels before and after the largest step that may be of the same day as another's.

    The day of each is known only to lie between its last day before and its first day after.
    """
    steps = [
        (one, two)
        for one, two in itertools.pairwise(levels)
        if one.last_day <= after.first_day + NEAR_DAYS and two.first_day >= before.last_day - NEAR_DAYS
    ]
    return max(steps, key=lambda pair: abs(pair[1].value - pair[0].value)) if steps else None


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= max(SAME_LEVEL, SAME_AMOUNT * abs(one)) and one * other > 0


def _same_factor(before: Level, after: Level, low: tuple[Level, Level], base: float) -> bool:
    """True where the vacant level fell by the factor that the full one fell by."""
    if low[0].value - base < LEAST_LOW or before.value <= base:
        return False
    expected = base + (low[0].value - base) * (after.value - base) / (before.value - base)
    return abs(low[1].value - expected) <= SAME_LEVEL


def restated(levels: Sequence[Level], changes: Sequence[CommonChange], least_step: float) -> list[Level]:
    """The levels with the changes undone; neighbours that then agree are one."""
    result: list[Level] = []
    for level in levels:
        value = level.value
        for change in reversed(changes):
            if level.first_day >= change.day - NEAR_DAYS:
                value = change.undone(value)
        current = replace(level, value=value)
        if result and abs(result[-1].value - value) < least_step:
            current = _joined(result.pop(), current)
        result.append(current)
    return result


def _joined(one: Level, other: Level) -> Level:
    days = one.days + other.days
    return Level(
        one.first_day,
        other.last_day,
        (one.value * one.days + other.value * other.days) / days,
        max(one.noise, other.noise),
        days,
    )
