"""What lies between the fall of the load and the end of the hold time, and how unsure it is.

A log that never shows motion shorter than some time may hold each motion's end back by up to as much,
and a hold time counted from there comes out short. Lamps that fade are still falling after the hold
time is over: the middle of the fall comes late by half the fade. Where neither end is likelier than the
other the middle is taken, and the interval reaches as far as the level of confidence asks of values that
are all equally likely; the two add up, as each is what it is at every fall. A fade that the grid does
not show is mostly short and may be long: the hold time may be shorter by more than it may be longer.
"""

from dataclasses import dataclass

import numpy as np

from mv.controls.fall_edge import fade_minutes
from mv.controls.hold_time import HoldEvents

USUAL_FADE_MINUTES = 0.25  # taken where the grid does not show it, as most lamps go at once; no source
UNSEEN_FADE_MINUTES = 1.0  # lamps take at most to fade where the grid does not show it; no source
TIMER_MINUTES, GRID_SHARE = 0.10, 0.006  # half-width: controls' own seconds, share of an interval; no source
CLOCK_MINUTES = 0.5  # by which clocks may differ where no switching-on tells; common practice, no source


@dataclass(frozen=True, slots=True)
class HoldOffset:
    """Minutes to add to what was read, and by how much the sum may be too long and too short."""

    minutes: float
    too_long: float
    too_short: float


def hold_offset(
    events: HoldEvents | None,
    *,
    interval_minutes: float,
    shortest_motion_minutes: float,
    lag_known: bool,
    in_parts: bool,
    confidence: float,
) -> HoldOffset:
    """From the log's shortest motion, the fade of the lamps and the clocks.

    `in_parts`: several sensors' lamps fall one after the other, which looks like a fade.
    """
    seen = None if events is None or in_parts else fade_minutes(events.variance, interval_minutes)
    least, greatest = seen or (0.0, UNSEEN_FADE_MINUTES)
    taken = 0.5 * (least + greatest) if seen else USUAL_FADE_MINUTES
    room = 0.5 * (1.0 - confidence) * (greatest - least)
    late = 0.5 * confidence * shortest_motion_minutes
    clock = 0.0 if lag_known else confidence * CLOCK_MINUTES
    return HoldOffset(
        minutes=0.5 * shortest_motion_minutes - 0.5 * taken,
        too_long=float(np.hypot(clock, late + 0.5 * (greatest - room - taken))),
        too_short=float(np.hypot(clock, late + max(0.5 * (taken - least - room), 0.0))),
    )


def grid_doubt(interval_minutes: float) -> float:
    """Half-width, minutes, of the moment of a fall as controls' timers and readings tell it."""
    return TIMER_MINUTES + GRID_SHARE * interval_minutes
