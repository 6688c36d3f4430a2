"""Changes that move every level of a zone at once, and so are no setting: load added, lamps failed.

A load put on the circuit lifts the floor, the vacant and the full level by the same amount. Failed
lamps lower every lit level by the same factor and leave the floor alone. Settings are read after
both are taken off.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from mv.controls.steps import Level

NEAR_DAYS = 8  # steps of two levels so close in time are one event; common practice, no source
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
        day = after.first_day
        floor_step, low_step = _step_near(floor, day), _step_near(low, day)
        if abs(step) < LEAST_AMOUNT:
            continue
        if floor_step is not None and _same(step, floor_step[1] - floor_step[0]):
            found.append(CommonChange(min(day, _day_near(floor, day)), step, 1.0, "added"))
        elif step < 0 and low_step is not None and _same_factor(before, after, low_step, base):
            found.append(CommonChange(day, 0.0, (after.value - base) / (before.value - base), "failed"))
    return found


def _step_near(levels: Sequence[Level], day: int) -> tuple[float, float] | None:
    """Values before and after the step nearest to a day, if one is near."""
    steps = [
        (abs(after.first_day - day), before.value, after.value)
        for before, after in itertools.pairwise(levels)
        if abs(after.first_day - day) <= NEAR_DAYS
    ]
    return min(steps)[1:] if steps else None


def _day_near(levels: Sequence[Level], day: int) -> int:
    days = [level.first_day for level in levels[1:] if abs(level.first_day - day) <= NEAR_DAYS]
    return min(days, key=lambda d: abs(d - day)) if days else day


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= max(SAME_LEVEL, SAME_AMOUNT * abs(one)) and one * other > 0


def _same_factor(before: Level, after: Level, low: tuple[float, float], base: float) -> bool:
    """True where the vacant level fell by the factor that the full one fell by."""
    if low[0] - base < LEAST_LOW or before.value <= base:
        return False
    expected = base + (low[0] - base) * (after.value - base) / (before.value - base)
    return abs(low[1] - expected) <= SAME_LEVEL


def restated(levels: Sequence[Level], changes: Sequence[CommonChange], least_step: float) -> list[Level]:
    """The levels with the changes undone; neighbours that then agree are one."""
    result: list[Level] = []
    for level in levels:
        value = level.value
        for change in reversed(changes):
            if level.first_day >= change.day - NEAR_DAYS // 2:
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
