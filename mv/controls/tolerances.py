"""How far a setting may lie from what was agreed before it counts as moved.

All are common practice, no source. `step` is the smallest change in time that counts; `apart` is
the distance from the agreed value at which a setting never seen otherwise is called moved: wider,
as the connected load behind a level is itself known only from data sheets.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tolerance:
    """In the setting's own unit."""

    step: float
    apart: float


TRIM = Tolerance(step=0.02, apart=0.05)  # fraction of connected load
LOW = Tolerance(step=0.02, apart=0.04)  # fraction of connected load
NIGHT_SHARE = Tolerance(step=0.25, apart=0.25)  # share of vacant closed time with lamps on
PLAUSIBLE_STANDBY_W = 3.0  # W a fixture; above it something else burns (trade rule of thumb)
MOST_APART_W = 0.5  # W a fixture by which a standby may be off its agreed value; no source
METER_CLASS = 0.008  # of reading, half-width taken where no class is told; common practice, no source


def hold_tolerance(minutes: float, agreed: float | None) -> Tolerance:
    """Minutes; wider on a coarse grid and for long holds."""
    size = agreed or 0.0
    if minutes <= 1.5:
        return Tolerance(step=max(1.0, 0.08 * size), apart=max(1.5, 0.10 * size))
    if minutes <= 6.0:
        return Tolerance(step=max(1.5, 0.10 * size), apart=max(2.5, 0.15 * size))
    return Tolerance(step=max(2.0, 0.12 * size), apart=max(4.0, 0.20 * size))


def standby_tolerance(watts: float | None, step_watts: float) -> Tolerance:
    """Watts a fixture; never finer than the meter's own step."""
    size = watts or 0.0
    return Tolerance(
        step=max(0.15, 0.3 * size, 1.5 * step_watts),
        apart=max(0.4, min(0.5 * size, MOST_APART_W), 0.7 * step_watts),
    )
