"""Which temperature terms a meter's days support, and where heating and cooling begin.

Heating and cooling may act at all hours, in opening hours alone, or with a slope of their own while open
and while closed: systems that are set back or switched off by night use less there. Change points are
those of the smallest sum of squares in which every slope has its physical sign; which set of terms the
model takes is left to the days left out (`selection`).
"""

from collections.abc import Sequence
from itertools import product

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.selection import Codes, billed
from mv.regression.terms import design

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

LEAST_DAYS_BEYOND = 15  # on each side of a change point (common practice, no source)
LEAST_SPREAD_C = 5.0  # of days' temperatures; in less no slope is looked for (common practice, no source)
STEP_C = 0.5  # spacing of the change points tried, degrees C
# The hours of the day in which a side acts: none, all, open ones, open and closed ones apart.
HOURS: tuple[tuple[str, ...], ...] = ((), ("",), (":open",), (":open", ":closed"))
HARDLY_NEW = 1e-6  # share of a column's square beside the base: less is none
RIDGE = 1e-9  # of unit columns: those that are the same share their slope
LEAST_APART_C = 4.0  # between two change points of one side (common practice, no source)


def temperature_sets(
    y: FloatArray,
    drivers: pd.DataFrame,
    base: Sequence[str],
    *,
    bills: Codes | None = None,
    least_days_beyond: int = LEAST_DAYS_BEYOND,
) -> list[tuple[str, ...]]:
    """Sets of heating and cooling terms beside the `base` terms, each with its best change points.

    The first is none. With `bills` (each day's bill number) y is by bill, and terms act at all hours:
    a dozen bills cannot tell open from closed ones. Change point models of 2 to 5 parameters: Kissock,
    Haberl & Claridge 2003, ASHRAE Transactions 109(2) (from memory).
    """
    changes = _changes(drivers["temperature_c"].to_numpy(dtype=np.float64), least_days_beyond)
    if len(changes) == 0:
        return [()]
    search = _Search(y, drivers, base, changes, bills)
    hours = HOURS[:2] if bills is not None else HOURS
    found = (search.best(heat, cool) for heat, cool in product(hours, hours) if heat or cool)
    return [(), *(terms for terms in found if terms)]


def steeper_sets(
    y: FloatArray, drivers: pd.DataFrame, base: Sequence[str], terms: Sequence[str]
) -> list[tuple[str, ...]]:
    """The temperature `terms`, and those with one more bend, beyond which use grows faster.

    Heat pumps lose efficiency in the cold and chillers in the heat; resistance heaters come in last.
    """
    changes = _changes(drivers["temperature_c"].to_numpy(dtype=np.float64), LEAST_DAYS_BEYOND)
    if len(changes) == 0 or not terms:
        return [tuple(terms)]
    search = _Search(y, drivers, base, changes, None)
    found = (search.steeper(terms, term) for term in terms)
    return [tuple(terms), *(more for more in found if more)]


def _changes(temperature_c: FloatArray, least_days_beyond: int) -> FloatArray:
    """Change points with enough days below and above."""
    if np.ptp(temperature_c) < LEAST_SPREAD_C or len(temperature_c) < 2 * least_days_beyond:
        return np.array([])
    ordered = np.sort(temperature_c)
    low, high = ordered[least_days_beyond - 1], ordered[-least_days_beyond]
    return np.arange(np.ceil(low / STEP_C) * STEP_C, high + 1e-9, STEP_C)


class _Search:
    """All temperature columns beside the base, and their products, so that a set costs one small solve."""

    def __init__(
        self,
        y: FloatArray,
        drivers: pd.DataFrame,
        base: Sequence[str],
        changes: FloatArray,
        bills: Codes | None,
    ) -> None:
        self.changes = changes
        parts = [""] if bills is not None else ["", ":open", ":closed"]
        self.names = [f"{side}:{c:.1f}{part}" for side in ("heat", "cool") for part in parts for c in changes]
        self.place = {name: number for number, name in enumerate(self.names)}
        known = np.linalg.qr(billed(design(drivers, base), bills))[0]
        columns = billed(design(drivers, self.names), bills)
        length = np.einsum("ij,ij->j", columns, columns)
        beside = columns - known @ (known.T @ columns)
        rest = y - known @ (known.T @ y)
        self.products, self.right = beside.T @ beside, beside.T @ rest
        self.new = np.diag(self.products) > HARDLY_NEW * length

    def best(self, heat: Sequence[str], cool: Sequence[str]) -> tuple[str, ...]:
        """The set's terms at the change points that fit best, first one a side, then one a term; empty
        where a slope has the wrong sign.
        """
        pairs = [(h, c) for h in self.changes for c in self.changes if h <= c]
        if not (heat and cool):
            pairs = [(c, c) for c in self.changes]
        rows = [
            [self.place[f"heat:{h:.1f}{part}"] for part in heat]
            + [self.place[f"cool:{c:.1f}{part}"] for part in cool]
            for h, c in pairs
        ]
        row, gained = self._largest(np.array(rows))
        if not np.isfinite(gained):
            return ()
        for number in (*range(len(row)), *range(len(row))) if len(row) > 1 else ():
            row, gained = self._largest(self._moved(row, number))
        return tuple(self.names[place] for place in row)

    def steeper(self, terms: Sequence[str], bent: str) -> tuple[str, ...]:
        """The terms with a second change point for `bent`, further out; empty where there is none."""
        side, change, part = _parts(bent)
        apart = (self.changes - change) * (-1 if side == "heat" else 1)
        further = self.changes[apart >= LEAST_APART_C]
        if len(further) == 0:
            return ()
        rows = [[*(self.place[term] for term in terms), self.place[f"{side}:{c:.1f}{part}"]] for c in further]
        row, gained = self._largest(np.array(rows))
        return tuple(self.names[place] for place in row) if np.isfinite(gained) else ()

    def _moved(self, row: IntArray, number: int) -> IntArray:
        """The row with its term `number` at every change point that keeps heating below cooling."""
        side, _, part = _parts(self.names[row[number]])
        others = [_parts(self.names[place]) for place in np.delete(row, number)]
        limits = [change for other, change, _ in others if other != side]
        low = max(limits, default=-np.inf) if side == "cool" else -np.inf
        high = min(limits, default=np.inf) if side == "heat" else np.inf
        places = [self.place[f"{side}:{c:.1f}{part}"] for c in self.changes if low <= c <= high]
        rows = np.repeat(row[None], len(places), axis=0)
        rows[:, number] = places
        return rows

    def _largest(self, places: IntArray) -> tuple[IntArray, float]:
        """The row of columns that takes most of the sum of squares with slopes of the right sign."""
        inner = self.products[places[:, :, None], places[:, None, :]]
        size = np.sqrt(np.einsum("nii->ni", inner))
        size = np.where(size > 0, size, 1.0)
        scaled = inner / (size[:, :, None] * size[:, None, :]) + RIDGE * np.eye(places.shape[1])
        right = self.right[places] / size
        slopes = np.linalg.solve(scaled, right[:, :, None])[:, :, 0]
        good = self.new[places].all(axis=1) & (slopes >= 0).all(axis=1)
        gained = np.where(good, (right * slopes).sum(axis=1), -np.inf)
        top = int(np.argmax(gained))
        return places[top], float(gained[top])


def _parts(term: str) -> tuple[str, float, str]:
    """("cool", 18.5, ":open") of "cool:18.5:open"."""
    side, change, *hours = term.split(":")
    return side, float(change), "".join(f":{word}" for word in hours)
