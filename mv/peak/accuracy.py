"""How far a meter's own error reaches into a peak reduction."""

from dataclasses import dataclass

USUAL_ACCURACY = 0.01
"""Of reading, two-sided. The limit of an active-energy meter of class 1 at its reference conditions,
IEC 62053-21 (from memory). That a lighting sub-meter is of that class is common practice, no source."""
USUAL_SOURCE = (
    "taken as 1 % of reading, a class 1 meter (IEC 62053-21, from memory), as the study states no accuracy"
)


@dataclass(frozen=True, slots=True)
class MeterAccuracy:
    """Fraction of reading at the study's confidence, and where it comes from."""

    fraction: float
    source: str


def meter_accuracy(stated: float | None, source: str | None) -> MeterAccuracy:
    """The stated accuracy, else that of a usual meter; a peak reduction is never known better.

    A window's mean is of few, much alike hours, so the meter's own error is often its largest.
    """
    if stated is None:
        return MeterAccuracy(USUAL_ACCURACY, USUAL_SOURCE)
    return MeterAccuracy(stated, source or "stated in the study")
