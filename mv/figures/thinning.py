"""Fewer points, the same picture: the highest and the lowest of each bucket, breaks kept."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

TARGET_POINTS = 2000  # about one a pixel column on a wide screen; common practice, no source


@dataclass(frozen=True)
class Thinned:
    """Positions into the original arrays, in order; `breaks_after` marks where the line must break."""

    positions: npt.NDArray[np.intp]
    breaks_after: npt.NDArray[np.bool_]
    per_bucket: int  # readings that stand behind each bucket; 1 = nothing was left out


def thinned(values: npt.NDArray[np.float64], *, target_points: int = TARGET_POINTS) -> Thinned:
    """The finite values to draw: all of them, or each bucket's lowest and highest.

    A line drawn through the result breaks wherever at least one value was not finite, so a gap
    never closes, and the overall extremes are always among the points. The result has at most
    `target_points` positions when there are more values than that.
    """
    if target_points < 4:
        raise ValueError(f"target_points must be at least 4, not {target_points}")
    finite = np.isfinite(values)
    positions = np.flatnonzero(finite)
    if len(positions) <= target_points:
        return Thinned(positions, _breaks(finite, positions), 1)
    per_bucket = -(-len(positions) // (target_points // 2))
    kept = positions[_extremes(values[positions], per_bucket)]
    return Thinned(kept, _breaks(finite, kept), per_bucket)


def _extremes(values: npt.NDArray[np.float64], per_bucket: int) -> npt.NDArray[np.intp]:
    """Places of each bucket's lowest and highest value, in order."""
    buckets = -(-len(values) // per_bucket)
    padded = np.full(buckets * per_bucket, values[-1])
    padded[: len(values)] = values
    grid = padded.reshape(buckets, per_bucket)
    starts = np.arange(buckets) * per_bucket
    places = np.concatenate([starts + grid.argmin(axis=1), starts + grid.argmax(axis=1)])
    return np.unique(np.minimum(places, len(values) - 1))


def _breaks(finite: npt.NDArray[np.bool_], positions: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_]:
    """True where a value that is not finite lies between this position and the next."""
    missing = np.concatenate([[0], np.cumsum(~finite)])
    breaks = np.zeros(len(positions), dtype=bool)
    breaks[:-1] = missing[positions[1:]] > missing[positions[:-1] + 1]
    return breaks
