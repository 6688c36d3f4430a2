"""A full level that fell in the light months: days under the sun near the new level are not yet it."""

import numpy as np

from mv.controls.daily import Daily
from mv.controls.evidence import _comes_up_to


def days(first, values):
    value = np.array(values)
    return Daily(np.arange(first, first + len(value), dtype=np.int64), value, np.full(len(value), 6.0))


def test_a_day_near_the_lower_level_counts_only_once_none_comes_up_to_the_higher():
    known = Daily(
        np.array([1, 2, 3, 4, 5, 31, 32, 33, 34, 35], dtype=np.int64),
        np.array([0.9] * 5 + [0.7] * 5),
        np.full(10, 6.0),
    )
    bright = days(10, [0.7, 0.7, 0.69, 0.9, 0.8, 0.7, 0.9, 0.75, 0.7, 0.71])
    assert _comes_up_to(bright, known).tolist() == [False] * 3 + [True, False, False, True, False, True, True]


def test_a_day_near_the_lower_level_does_not_count_once_one_came_up_to_the_higher():
    known = Daily(
        np.array([1, 2, 3, 4, 5, 31, 32, 33, 34, 35], dtype=np.int64),
        np.array([0.7] * 5 + [0.9] * 5),
        np.full(10, 6.0),
    )
    bright = days(10, [0.7, 0.6, 0.71, 0.9, 0.7, 0.8])
    assert _comes_up_to(bright, known).tolist() == [True, False, True, True, False, False]
