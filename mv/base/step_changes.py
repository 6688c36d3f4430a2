"""Where a series steps from one level to another: least squares, exact.

Shared by the settings and the drift stage. What counts as a step is the caller's decision: the
penalty must already allow for autocorrelated noise.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

ENDS_AT_ONCE = 16  # ends of levels whose costs are worked out together: more leave the processor's cache


@dataclass(frozen=True, slots=True)
class MeanBreak:
    """The best single change of mean: `after` observations belong to the first level."""

    after: int
    mean_before: float
    mean_after: float
    rss_none: float
    rss_one: float
    n: int

    @property
    def sup_f(self) -> float:
        """Largest F of one break in the mean, with n - 2 degrees of freedom (Andrews 1993)."""
        gain = (self.rss_none - self.rss_one) * (self.n - 2)
        return float(np.inf) if self.rss_one == 0 else gain / self.rss_one


def best_mean_break(values: FloatArray, *, min_length: int = 1) -> MeanBreak:
    """Least-squares date of one change of mean; both parts at least `min_length` long."""
    n = len(values)
    if n < 2 * min_length:
        raise ValueError(f"{n} values cannot be cut into two parts of at least {min_length}")
    total, squares = np.cumsum(values), float(np.sum((values - values.mean()) ** 2))
    sizes = np.arange(1, n)
    before, after = total[:-1] / sizes, (total[-1] - total[:-1]) / (n - sizes)
    gain = sizes * (n - sizes) / n * (before - after) ** 2
    gain[: min_length - 1] = -np.inf
    gain[n - min_length :] = -np.inf
    best = int(np.argmax(gain))
    rss_one = max(squares - float(gain[best]), 0.0)
    return MeanBreak(best + 1, float(before[best]), float(after[best]), squares, rss_one, n)


def segment_starts(
    values: FloatArray,
    *,
    penalty: float,
    min_length: int = 1,
    weights: FloatArray | None = None,
) -> list[int]:
    """Start of each level in the partition that minimises weighted squares + penalty per level.

    Exact dynamic programme (Jackson et al. 2005, "optimal partitioning"; from memory), O(n^2)
    in numpy. The first start is 0; an empty series has none.
    """
    n = len(values)
    if n == 0:
        return []
    w = np.ones(n) if weights is None else weights
    centred = values - np.average(values, weights=w)
    weight, first, second = (
        np.concatenate(([0.0], np.cumsum(part))) for part in (w, w * centred, w * centred**2)
    )
    best, came_from = np.full(n + 1, np.inf), np.zeros(n + 1, dtype=np.int64)
    best[0] = -penalty
    before = np.empty(n + 1)  # of each start: the cost up to it, less the squares up to it
    for end in range(min_length, n + 1):
        row = (end - min_length) % ENDS_AT_ONCE
        if row == 0:
            ends = slice(end, end + ENDS_AT_ONCE)
            inner = first[ends, None] - first[None, : ends.stop]
            apart = np.abs(weight[ends, None] - weight[None, : ends.stop])  # starts after the end go unused
            apart[apart == 0.0] = np.inf
            saved = inner * inner / apart
        stop = end - min_length + 1  # of the places where the last level may start
        before[stop - 1] = best[stop - 1] - second[stop - 1]
        cost = before[:stop] - saved[row, :stop]
        came_from[end] = start = cost.argmin()
        best[end] = cost[start] + second[end] + penalty
    starts, end = [], n
    while end > 0:
        end = int(came_from[end]) if np.isfinite(best[end]) else 0
        starts.append(end)
    return starts[::-1]
