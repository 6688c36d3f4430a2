"""Where lamps dwell in the hours of use: at the full level, and at one below it when nobody is there.

A level when vacant that is still there but seldomer reached points at the time delay; one that has
gone, at sensors that rule no more; one that stands higher, at the setting itself.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

BIN = 0.02  # of the full level; width in which readings count as alike; common practice, no source
BELOW_TOP = 0.93  # of the top, up to which a lower level is looked for; common practice, no source
AT_TOP = 0.95  # of the top, from which readings are at it; common practice, no source
LEAST_SHARE = 0.06  # of readings that make a level; common practice, no source
HOURS_SHARE = 0.25  # the same of hours' means, which blur what lies between; no source
PEAKED = 1.5  # times what readings spread evenly would hold; common practice, no source
RAISED = 0.05  # of the full level by which a level has moved; common practice, no source
GONE = 0.15  # of its share, below which a level is no longer there; common practice, no source
SELDOMER = 0.85  # of its share, below which a level is reached less often; no source
MOSTLY_TOP = 0.85  # of readings at the top where nothing dims when people leave; no source


@dataclass(frozen=True)
class Dwelling:
    """`low`: the level below the top at which most readings dwell, None without one; shares of readings."""

    low: float | None
    low_share: float
    top_share: float


def dwelling(value: FloatArray, top: float, *, fine: bool) -> Dwelling | None:
    """Of readings as fractions of the full level; None without readings or without a top."""
    value = value[np.isfinite(value)]
    if not len(value) or top <= 0:
        return None
    at_top = float(np.mean(value >= AT_TOP * top))
    edges = np.arange(-2 * BIN, BELOW_TOP * top + BIN, BIN)
    count, _ = np.histogram(value, edges)
    if len(count) < 4:
        return Dwelling(None, 0.0, at_top)
    near = np.convolve(count, np.ones(3), mode="same")
    at = int(np.argmax(near))
    share = float(near[at]) / len(value)
    even = 3.0 / len(count) * float(np.mean(value < BELOW_TOP * top))
    falls = at < len(count) - 3 and float(near[at + 3 :].min()) < 0.5 * float(near[at])
    if (
        share < max(LEAST_SHARE if fine else HOURS_SHARE, PEAKED * even) or not falls
    ):  # no peak but the skirt of the top
        return Dwelling(None, 0.0, at_top)
    return Dwelling(float(edges[at] + BIN / 2), share, at_top)


def vacancy_cause(before: Dwelling | None, after: Dwelling | None) -> str | None:
    """What the level when vacant tells of a rise of energy; None where it tells nothing."""
    if before is None or after is None or before.low is None:
        return None
    if after.top_share >= MOSTLY_TOP and after.low_share <= GONE * before.low_share:
        return "sensor bypassed"
    if after.low is None:
        return "delay lengthened" if after.top_share > before.top_share else None
    if after.low >= before.low + RAISED:
        return "low level raised"
    same = abs(after.low - before.low) <= RAISED / 2
    return "delay lengthened" if same and after.low_share < SELDOMER * before.low_share else None
