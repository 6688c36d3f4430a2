"""Runs of days on which something was so: shared by what tells of faults that come and go."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import numpy.typing as npt

Spell = tuple[date, date]


def spells_of(shown: npt.NDArray[np.bool_], days: Sequence[date]) -> tuple[Spell, ...]:
    """First and last day of each unbroken run of `shown`; `days` stand in order, one an entry."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], shown, [False])).astype(np.int8)))
    pairs = zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True)
    return tuple((days[first], days[after - 1]) for first, after in pairs)
