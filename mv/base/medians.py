"""The median where it is asked for thousands of times."""

import numpy as np
import numpy.typing as npt


def median(values: npt.NDArray[np.float64]) -> float:
    """The median of finite values, without the checks that cost `np.median` most of its time."""
    low, high = (len(values) - 1) // 2, len(values) // 2
    ordered = np.partition(values, (low, high))
    return float(0.5 * (ordered[low] + ordered[high]))
