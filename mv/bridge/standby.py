"""Standby told from a night floor that may hold other load."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

PLAUSIBLE_WATTS = 1.5
"""W per fixture up to which a night floor is taken for standby (common practice: 0.2-1.5 W)."""
MOST_WATTS = 3.0
"""W per fixture above which a night floor is other load (common practice, no source)."""
FLOOR_ERROR = 0.3
"""Standard error of standby read from a plausible floor, share: egress may be in it. No source."""


def standby_from_floor(fixtures: Floats, floor_kw: float) -> tuple[Floats, Floats]:
    """Standby of each zone and its standard error, kW, from the floor shared by their fixtures.

    A floor up to 1.5 W per fixture is read as standby. A higher one holds other load, such as
    egress lighting: standby is then half of what 3 W per fixture allow, give or take that half.
    """
    count = float(fixtures.sum())
    if count <= 0 or floor_kw <= 0:
        return np.zeros(len(fixtures)), np.zeros(len(fixtures))
    watts = 1000.0 * floor_kw / count
    if watts <= PLAUSIBLE_WATTS:
        kw = fixtures * watts / 1000.0
        return kw, FLOOR_ERROR * kw
    half = fixtures * min(watts, MOST_WATTS) / 2.0 / 1000.0
    return half, half / 1.645  # a 90 % interval from nothing to the whole
