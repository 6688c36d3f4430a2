"""The ways in which a change may show over the days: which days, and in step with what."""

from collections.abc import Mapping
from typing import Literal

import numpy as np
import numpy.typing as npt

from mv.drift.expectation import Design

FloatArray = npt.NDArray[np.float64]
Shape = Literal["all days", "open days", "closed days", "with the sun", "with the night", "with the day"]

SUN_TERMS = ("sun_open_hours", "sun_motion_hours")  # drivers that daylight dimming answers to
FEWEST_OF_KIND = 4  # days of a kind after a change for its own column; common practice, no source
FEWEST_FOR_SUN = 40  # days after a change for its own answer to sun or night; common practice, no source
MIXED = (0.1, 0.9)  # share of open days within which open and closed days can differ; no source


def shapes(plan: Design) -> Mapping[Shape, FloatArray]:
    """What a change of each shape adds a day, per unit: 1 on its days, or hours of sun or night."""
    found: dict[Shape, FloatArray] = {"all days": np.ones(len(plan.energy))}
    if plan.outdoor:
        night = _term(plan, "dark_hours")
        return found if night is None else found | {"with the night": night, "with the day": 24.0 - night}
    if MIXED[0] < float(np.mean(plan.is_open)) < MIXED[1]:
        found |= {"open days": plan.is_open.astype(np.float64), "closed days": (~plan.is_open).astype(float)}
    sun = sun_of(plan) if plan.daylit else None
    return found if sun is None else found | {"with the sun": sun}


def sun_of(plan: Design) -> FloatArray | None:
    """The driver that daylight dimming answers to; None where the plan has none."""
    for name in SUN_TERMS:
        found = _term(plan, name)
        if found is not None:
            return found
    return None


def change_columns(plan: Design, at: int) -> FloatArray:
    """What a change on a day may alter: each kind of day, and the answer to sun or night.

    Columns are zero before the day. Sun and night are centred on the days after it, so that the
    level columns stay the mean change.
    """
    after = np.arange(len(plan.energy)) >= at
    kinds = [plan.is_open & after, ~plan.is_open & after]
    if plan.outdoor or min(kind.sum() for kind in kinds) < FEWEST_OF_KIND:
        kinds = [after]
    columns = [kind.astype(np.float64) for kind in kinds]
    moving = _term(plan, "dark_hours") if plan.outdoor else sun_of(plan)
    if moving is not None and after.sum() >= FEWEST_FOR_SUN and float(np.std(moving[after])) > 0:
        inside = after if plan.outdoor else kinds[0]
        columns.append(np.where(inside, moving - moving[inside].mean(), 0.0))
    return np.column_stack(columns)


def _term(plan: Design, name: str) -> FloatArray | None:
    return plan.terms[:, plan.names.index(name)] if name in plan.names else None
