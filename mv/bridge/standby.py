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
AGREEING_ERROR = 0.08
"""The same where the watts found elsewhere on the meter agree with the floor. No source."""


def standby_from_floor(
    fixtures: Floats,
    floor_kw: float,
    *,
    egress: tuple[float, float] | None = None,
    told_kw: Floats | None = None,
    told_error: Floats | None = None,
) -> tuple[Floats, Floats]:
    """Standby of each zone and its standard error, kW, from the floor shared by their fixtures.

    `egress` is the range of load that never stops, as the old floor shows it: standby is the
    floor less its middle. Where it is not known a floor up to 1.5 W per fixture is read as
    standby (as a mean it is free of the meter's resolution); a higher one holds other load:
    standby is then what was told, else half of what 3 W per fixture allow, give or take that half.
    """
    count = float(fixtures.sum())
    if count <= 0 or floor_kw <= 0:
        return np.zeros(len(fixtures)), np.zeros(len(fixtures))
    share = fixtures / count
    most = MOST_WATTS * count / 1000.0
    if egress is not None:
        total = floor_kw - (egress[0] + egress[1]) / 2.0
        if 0.0 < total <= most:
            error = np.hypot(AGREEING_ERROR * total, (egress[1] - egress[0]) / 2.0)
            return share * total, share * error
    if floor_kw <= PLAUSIBLE_WATTS * count / 1000.0:
        kw = share * floor_kw
        return kw, kw * (AGREEING_ERROR if _agree(kw, told_kw, told_error) else FLOOR_ERROR)
    if told_kw is not None and told_error is not None and float(told_kw.sum()) <= floor_kw:
        return told_kw, np.hypot(told_error, AGREEING_ERROR * told_kw)
    half = share * min(floor_kw, most) / 2.0
    return half, half / 1.645  # a 90 % interval from nothing to the whole


def _agree(kw: Floats, told_kw: Floats | None, told_error: Floats | None) -> bool:
    if told_kw is None or told_error is None:
        return False
    near = 2.0 * float(told_error.sum()) + 0.1 * float(kw.sum())
    return abs(float(kw.sum() - told_kw.sum())) <= near
