"""How far a meter's own error reaches into what it proves, kWh and kW alike."""

from dataclasses import dataclass

USUAL_ACCURACY = 0.01
"""Of reading, two-sided. The limit of an active-energy meter of class 1 at its reference conditions,
IEC 62053-21 (from memory). That a lighting sub-meter is of that class is common practice, no source."""
USUAL_WORDS = "1 % of reading, a class 1 meter (IEC 62053-21, from memory)"
USUAL_SOURCE = f"taken as {USUAL_WORDS}, as the study states no accuracy"


@dataclass(frozen=True, slots=True)
class MeterAccuracy:
    """Fraction of reading at the study's confidence, and where it comes from."""

    fraction: float
    source: str


def meter_accuracy(stated: float | None, source: str | None) -> MeterAccuracy:
    """The stated accuracy, else that of a usual meter: every meter errs, and nothing is known better.

    Where days are much alike, and in the few hours of a peak window, the meter's own error is often the
    largest. An accuracy of 0 takes none.
    """
    if stated is None:
        return MeterAccuracy(USUAL_ACCURACY, USUAL_SOURCE)
    return MeterAccuracy(stated, source or "stated in the study")
