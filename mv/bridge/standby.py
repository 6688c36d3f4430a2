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
SURE_ERROR = 0.08
"""The same where nothing else can be in the floor, or what was agreed is found. No source."""
GROWTH_DOUBT = 0.3
"""Standard error, share of a floor above the agreed standby: mostly other load, sometimes grown
standby. No source."""


def standby_from_floor(
    fixtures: Floats,
    floor_kw: float,
    *,
    egress: tuple[float, float] | None = None,
    agreed_kw: float | None = None,
) -> tuple[Floats, Floats]:
    """Standby of each zone and its standard error, kW, from the floor shared by their fixtures.

    `egress` is the range of load that never stops, as the old floor shows it: standby is the
    floor less its middle. Where it is not known, the floor is the agreed standby and other load;
    without anything agreed a floor up to 1.5 W per fixture is read as standby, and of a higher
    one half of what 3 W per fixture allow, give or take that half.
    """
    count = float(fixtures.sum())
    if count <= 0 or floor_kw <= 0:
        return np.zeros(len(fixtures)), np.zeros(len(fixtures))
    most = min(floor_kw, MOST_WATTS * count / 1000.0)
    total, error = _known_egress(floor_kw, most, egress, agreed_kw) or _unknown_egress(
        floor_kw, most, PLAUSIBLE_WATTS * count / 1000.0, agreed_kw
    )
    share = fixtures / count
    return share * total, share * error


def _known_egress(
    floor_kw: float, most_kw: float, egress: tuple[float, float] | None, agreed_kw: float | None
) -> tuple[float, float] | None:
    if egress is None:
        return None
    total = floor_kw - (egress[0] + egress[1]) / 2.0
    if not 0.0 < total <= most_kw:
        return None
    half = (egress[1] - egress[0]) / 2.0
    if agreed_kw is not None and abs(agreed_kw - total) <= half + 2.0 * SURE_ERROR * total:
        total = agreed_kw
    return total, float(np.hypot(SURE_ERROR * total, half))


def _unknown_egress(
    floor_kw: float, most_kw: float, plausible_kw: float, agreed_kw: float | None
) -> tuple[float, float]:
    if agreed_kw is not None:
        total = min(agreed_kw, most_kw)
        return total, float(np.hypot(SURE_ERROR * total, GROWTH_DOUBT * (most_kw - total)))
    if floor_kw <= plausible_kw:
        return floor_kw, FLOOR_ERROR * floor_kw
    return most_kw / 2.0, most_kw / 2.0 / 1.645  # a 90 % interval from nothing to the whole
