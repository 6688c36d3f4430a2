"""Runs of days on which something was so: shared by what tells of faults that come and go."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import numpy.typing as npt

Spell = tuple[date, date]
Places = npt.NDArray[np.int64]


def runs_of(shown: npt.NDArray[np.bool_]) -> tuple[Places, Places]:
    """First place of each unbroken run of `shown`, and the first after it."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], shown, [False])).astype(np.int8)))
    return edges[0::2], edges[1::2]


def spells_of(shown: npt.NDArray[np.bool_], days: Sequence[date]) -> tuple[Spell, ...]:
    """First and last day of each unbroken run of `shown`; `days` stand in order, one an entry."""
    begun, over = runs_of(shown)
    pairs = zip(begun.tolist(), over.tolist(), strict=True)
    return tuple((days[first], days[after - 1]) for first, after in pairs)
