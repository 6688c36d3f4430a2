"""Whether a meter's full power falls when the sun is up."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

BRIGHT_ABOVE_DEG = 15.0
"""Sun elevation above which lamps that dim for daylight do. Common practice, no source."""
DROP = 0.04
"""Fall of the full power by day, share, that is dimming. Common practice, no source."""
FEWEST_HOURS = 8.0
"""Hours lit in the dark, and in bright sun, that the comparison needs. No source."""
LIT = 0.5


def dims_by_day_when_held(
    power_kw: Floats, held: Bools, dark: Bools, sun_deg: Floats, *, hours: float
) -> bool | None:
    """From intervals held as occupied: does the median fall from dark to bright? None: not seen."""
    at_night = power_kw[held & dark & np.isfinite(power_kw)]
    by_day = power_kw[held & (sun_deg > BRIGHT_ABOVE_DEG) & np.isfinite(power_kw)]
    if min(len(at_night), len(by_day)) * hours < FEWEST_HOURS:
        return None
    return bool(np.median(by_day) < (1.0 - DROP) * np.median(at_night))


def dims_by_day(power_kw: Floats, dark: Bools, sun_deg: Floats, *, hours: float) -> bool | None:
    """From lit intervals without knowing who was in: only where plateau and upper range agree.

    Lit is more than half way from floor to plateau. None where the two disagree or the hours lack.
    """
    known = np.isfinite(power_kw)
    if not known.any():
        return None
    floor, top = np.quantile(power_kw[known], [0.01, 0.99])
    lit = known & (power_kw > floor + LIT * (top - floor))
    at_night, by_day = power_kw[lit & dark], power_kw[lit & (sun_deg > BRIGHT_ABOVE_DEG)]
    if min(len(at_night), len(by_day)) * hours < FEWEST_HOURS:
        return None
    falls = [
        float(np.quantile(by_day, q)) < (1.0 - DROP) * float(np.quantile(at_night, q)) for q in (0.8, 0.95)
    ]
    return falls[0] if falls[0] == falls[1] else None
