"""How far daylight would dim vacant lamps too, told from how far it dims occupied ones."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

SUN_BIN_DEG = 4.0
FEWEST_IN_BIN = 8
"""Held intervals that a bin of sun elevation needs. Common practice, no source."""
HELD_ENOUGH = 0.97


def vacant_share_left(
    level: Floats, held: Floats, sun_deg: Floats, *, vacant_level: float, above_deg: float
) -> Floats:
    """Mean share of the vacant level that is left by daylight, for each interval.

    `level` is the metered level of each interval over the full one. Where lamps were held as
    occupied, the sky left them `level`; a vacant lamp takes the lower of its own level and that.
    The mean over the held intervals of the same sun elevation stands for the vacant ones:
    the sky does not know who is in. Bins without enough take the nearest that has. 1 in the dark.
    """
    share = np.ones(len(level))
    if vacant_level <= 0:
        return share
    bins = np.floor((sun_deg - above_deg) / SUN_BIN_DEG).astype(np.int64)
    light = bins >= 0
    known = light & (held >= HELD_ENOUGH) & np.isfinite(level)
    if not known.any():
        return share
    size = int(bins[light].max()) + 1
    count = np.bincount(bins[known], minlength=size)
    left = np.minimum(level[known], vacant_level) / vacant_level
    total = np.bincount(bins[known], weights=np.clip(left, 0.0, 1.0), minlength=size)
    full = np.flatnonzero(count >= FEWEST_IN_BIN)
    if not len(full):
        return share
    means = np.interp(np.arange(size), full, total[full] / count[full])
    share[light] = means[bins[light]]
    return share
