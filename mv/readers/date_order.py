"""Day first, month first or year first, by the whole column."""

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.readers.calendar_days import days_from_civil, full_year, valid_date
from mv.readers.stamp_fill import keep_days
from mv.readers.stamp_record import Stamps

LEAP_DAYS = 27  # a month or more from one day to the next; by the calendar
FEWEST_LEAPS = 2  # one leap may be a gap; no source


def settle_pairs(stamps: Stamps, order: str) -> None:
    """Give undecided rows their day under the order named ("day first", "month first", "year first")."""
    if stamps.undecided is None or stamps.pair is None:
        return
    rows = stamps.undecided
    first, second, third = (part[rows].astype(np.int32) for part in stamps.pair)
    if order == "year first":
        year, month, day = full_year(first), second, third
    else:
        day, month = (first, second) if order == "day first" else (second, first)
        year = np.where(third < 100, full_year(third), third)
    stamps.readable[rows] &= keep_days(np.flatnonzero(rows), year, month, day, stamps)
    stamps.undecided = None
    stamps.pair = None


def order_of_pairs(stamps: Stamps) -> tuple[str, str] | None:
    """Day first, month first or year first, with the evidence; None where the column cannot tell.

    The numbers decide where one exceeds 12. Else the run of days does: under the right order
    consecutive rows are mostly of the same or the next day, under the wrong one they leap by months.
    Raises ReadingError where the column holds both orders.
    """
    if stamps.undecided is None or stamps.pair is None or not stamps.undecided.any():
        return None
    first, second, third = (part[stamps.undecided] for part in stamps.pair)
    if (third < 100).all() and (first > 31).any():
        return "year first", f"the first number reaches {int(first.max())}"
    if (third < 100).all() and _runs_year_first(first, second, third):
        return "year first", "read so the days follow one another"
    day_first, month_first = bool((first > 12).any()), bool((second > 12).any())
    if day_first and month_first:
        raise ReadingError(
            "the dates are day-first in some rows and month-first in others",
            value=f"{_pair_text(first, second, third, first > 12)} and "
            f"{_pair_text(first, second, third, second > 12)}",
            remedy="Split the file where the date order changes, one file an order, "
            "or give the lines of one order as their own meter with date_order set.",
        )
    if day_first or month_first:
        _refuse_other_order(first, second, third, day_first=day_first)
    if day_first:
        return "day first", f"{_pair_text(first, second, third, first > 12)} can only be day first"
    if month_first:
        return "month first", f"{_pair_text(first, second, third, second > 12)} can only be month first"
    return _order_by_run(first, second, third)


def _refuse_other_order(
    first: NDArray[np.int16], second: NDArray[np.int16], third: NDArray[np.int16], *, day_first: bool
) -> None:
    """Rows that could be either order, and that follow one another only under the other one.

    Raises ReadingError where such rows leap by months though the rows that can only be of the order
    found do not.
    """
    year = np.where(third < 100, full_year(third.astype(np.int32)), third.astype(np.int32))
    day, month = (part.astype(np.int32) for part in ((first, second) if day_first else (second, first)))
    either = (day <= 12) & (month <= 12)
    there = np.abs(np.diff(days_from_civil(year, month, day)))
    here = either[1:] & either[:-1]
    swapped = np.abs(np.diff(days_from_civil(year, np.where(either, day, 1), np.where(either, month, 1))))
    odd = here & (there >= LEAP_DAYS) & (swapped <= 1)
    certain = ~either[1:] & ~either[:-1]
    if odd.sum() < FEWEST_LEAPS or (there[certain] >= LEAP_DAYS).any() or not (there[certain] == 1).any():
        return
    order = "day-first" if day_first else "month-first"
    raise ReadingError(
        f"some dates can only be {order}, and others leap by months unless they are read the other way",
        value=f"{_pair_text(first, second, third, day > 12)} and "
        f"{_pair_text(first, second, third, np.append(odd, False))}",
        remedy="Split the file where the date order changes, one file an order, and set date_order.",
    )


def _runs_year_first(first: NDArray[np.int16], second: NDArray[np.int16], third: NDArray[np.int16]) -> bool:
    """Two-digit years in front: the last number then runs through the days."""
    numbers = [part.astype(np.int32) for part in (first, second, third)]
    years = full_year(numbers[0])
    if not valid_date(years, numbers[1], numbers[2]).all() or len(np.unique(numbers[2])) < 3:
        return False
    steps = np.abs(np.diff(days_from_civil(years, numbers[1], numbers[2])))
    steps = steps[steps > 0]
    return len(np.unique(numbers[0])) <= 3 and len(steps) >= 2 and float((steps > 1).mean()) <= 0.2


def _order_by_run(
    first: NDArray[np.int16], second: NDArray[np.int16], third: NDArray[np.int16]
) -> tuple[str, str] | None:
    year = np.where(third < 100, full_year(third.astype(np.int32)), third.astype(np.int32))
    numbers = first.astype(np.int32), second.astype(np.int32)
    leaps = {}
    for order, (day, month) in {"day first": numbers, "month first": numbers[::-1]}.items():
        if not valid_date(year, month, day).all():
            continue
        steps = np.abs(np.diff(days_from_civil(year, month, day)))
        steps = steps[steps > 0]
        if len(steps) < 2:
            return None
        leaps[order] = float((steps > 1).mean())
    if len(leaps) == 2:
        good, bad = sorted(leaps, key=lambda order: leaps[order])
        if leaps[good] <= 0.2 and leaps[bad] >= 0.6:  # common practice, no source
            return good, f"read so the days follow one another; {bad} they would leap by months"
    return None


def _pair_text(
    first: NDArray[np.int16], second: NDArray[np.int16], third: NDArray[np.int16], where: NDArray[np.bool_]
) -> str:
    row = int(np.argmax(where))
    return f"{first[row]:02d}/{second[row]:02d}/{third[row]:02d}"
