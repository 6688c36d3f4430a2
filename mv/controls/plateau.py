"""Levels at which a load dwells."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

BIN = 0.005  # level; fine against the 0.03 the levels must be known to
SMOOTHING = 0.010  # level, standard deviation of the kernel; common practice, no source
REACH = 0.03  # level either side of a peak that belongs to it; common practice, no source


@dataclass(frozen=True, slots=True)
class Plateau:
    """A level, and the share of the values that lie within REACH of it."""

    level: float
    share: float


def plateaus(values: FloatArray, *, smoothing: float = SMOOTHING) -> list[Plateau]:
    """The levels where values gather, lowest first. Peaks of a smoothed histogram."""
    good = np.sort(values[np.isfinite(values)])
    if len(good) < 3:
        return []
    width = max(smoothing, SMOOTHING) / BIN
    wide = int(4 * width)
    edges = np.arange(np.floor(good.min() / BIN) - wide - 1, np.ceil(good.max() / BIN) + wide + 2) * BIN
    count, _ = np.histogram(good, edges)
    reach = np.arange(-wide, wide + 1)
    smooth = np.convolve(count, np.exp(-0.5 * (reach / width) ** 2), mode="same")
    inner = smooth[1:-1]
    peaks = 1 + np.flatnonzero((inner > smooth[:-2]) & (inner >= smooth[2:]))
    centres = 0.5 * (edges[1:] + edges[:-1])
    found = []
    for peak in peaks:
        near = good[np.abs(good - centres[peak]) <= max(REACH, 2 * smoothing)]
        if len(near):
            found.append(Plateau(_middle(near), len(near) / len(good)))
    return found


def _middle(ordered: FloatArray) -> float:
    """Median of values in order."""
    half = len(ordered) // 2
    return float(ordered[half] if len(ordered) % 2 else 0.5 * (ordered[half - 1] + ordered[half]))


def upper_plateau(values: FloatArray, *, least_share: float, smoothing: float = SMOOTHING) -> Plateau | None:
    """The highest level at which at least `least_share` of the values dwell."""
    dwelt = [p for p in plateaus(values, smoothing=smoothing) if p.share >= least_share]
    return dwelt[-1] if dwelt else None


def lower_plateau(values: FloatArray, *, least_share: float, smoothing: float = SMOOTHING) -> Plateau | None:
    """The lowest level at which at least `least_share` of the values dwell."""
    dwelt = [p for p in plateaus(values, smoothing=smoothing) if p.share >= least_share]
    return dwelt[0] if dwelt else None
