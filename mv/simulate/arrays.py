"""Array types, seeded random streams, and run-length arithmetic on a minute grid."""

import zlib

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def stream(seed: int, *names: str) -> np.random.Generator:
    """A PCG64 generator of its own for each named process, whatever else is drawn elsewhere."""
    key = zlib.crc32("/".join(names).encode())
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence([seed, key])))


def autoregressive(rng: np.random.Generator, n: int, *, correlation: float, sd: float) -> Floats:
    """A stationary first-order autoregressive series: lag-1 `correlation`, standard deviation `sd`."""
    from scipy.signal import lfilter

    shocks = rng.standard_normal(n) * sd * np.sqrt(1.0 - correlation**2)
    if n:
        shocks[0] = rng.standard_normal() * sd
    series: Floats = np.asarray(lfilter([1.0], [1.0, -correlation], shocks), dtype=np.float64)
    return series


def runs(flags: Bools) -> tuple[Ints, Ints]:
    """First index and one-past-last index of every run of True."""
    edges = np.diff(flags.astype(np.int8), prepend=0, append=0)
    return np.flatnonzero(edges == 1).astype(np.int64), np.flatnonzero(edges == -1).astype(np.int64)


def overlap_count(starts: Ints, ends: Ints, n: int) -> Ints:
    """How many of the half-open spans [start, end) cover each of `n` steps."""
    size = n + 1
    up = np.bincount(np.clip(starts, 0, n), minlength=size)
    down = np.bincount(np.clip(ends, 0, n), minlength=size)
    return np.cumsum(up - down)[:n].astype(np.int64)


def merged(starts: Floats, ends: Floats) -> tuple[Floats, Floats]:
    """The union of spans sorted by start, as disjoint spans."""
    if not len(starts):
        return starts, ends
    reach = np.maximum.accumulate(ends)
    first = np.append(True, starts[1:] > reach[:-1])
    last = np.append(first[1:], True)
    return starts[first], reach[last]


def minute_share(starts_s: Floats, ends_s: Floats, n: int) -> Floats:
    """Share of each of `n` minutes covered by disjoint spans given in seconds."""
    begin, end = np.clip(starts_s, 0, 60.0 * n) / 60.0, np.clip(ends_s, 0, 60.0 * n) / 60.0
    size = n + 2
    covered = np.zeros(size)
    for edge, sign in ((begin, 1.0), (end, -1.0)):
        whole = np.floor(edge).astype(np.int64)
        part = edge - whole
        covered += np.bincount(whole, weights=sign * (1.0 - part), minlength=size)
        covered += np.bincount(whole + 1, weights=sign * part, minlength=size)
    share: Floats = np.clip(np.cumsum(covered)[:n], 0.0, 1.0)
    share[share < 1e-9] = 0.0
    return share
