"""What lies between the fall of the load and the end of the hold time, and how unsure it is.

A log that never shows motion shorter than some time may hold each motion's end back by up to as much,
and a hold time counted from there comes out short. Lamps that fade are still falling after the hold
time is over: the middle of the fall comes late by half the fade. Neither end of either is likelier
than the other: the middle is taken, and the interval reaches as far as the level of confidence asks of
values that are all equally likely.
"""

from dataclasses import dataclass

import numpy as np

from mv.controls.fall_edge import FEWEST_FALLS, FINEST_MINUTES, fade_minutes
from mv.controls.hold_time import HoldEvents

USUAL_FADE_MINUTES = 0.25  # taken where the grid does not show it, as most lamps go at once; no source
UNSEEN_FADE_MINUTES = 1.0  # lamps take at most to fade where the grid does not show it; no source
CLOCK_MINUTES = 0.25  # by which clocks may differ where no switching-on tells; common practice, no source


@dataclass(frozen=True, slots=True)
class HoldOffset:
    """Minutes to add to what was read, and the half-width of the doubt about it."""

    minutes: float
    doubt: float


def hold_offset(
    events: HoldEvents | None,
    *,
    interval_minutes: float,
    shortest_motion_minutes: float,
    lag_known: bool,
    confidence: float,
) -> HoldOffset:
    """From the log's shortest motion, the fade of the lamps and the clocks."""
    variance = np.zeros(0) if events is None else events.variance
    least, greatest, taken = 0.0, UNSEEN_FADE_MINUTES, USUAL_FADE_MINUTES
    if interval_minutes <= FINEST_MINUTES and np.isfinite(variance).sum() >= FEWEST_FALLS:
        least, greatest = fade_minutes(variance, interval_minutes)
        taken = 0.5 * (least + greatest)
    fade = 0.25 * confidence * (greatest - least)
    late = 0.5 * confidence * shortest_motion_minutes
    clock = 0.0 if lag_known else confidence * CLOCK_MINUTES
    minutes = 0.5 * shortest_motion_minutes - 0.5 * taken
    return HoldOffset(minutes, float(np.sqrt(late**2 + fade**2 + clock**2)))
