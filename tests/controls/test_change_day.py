"""A change within the day is dated to that day, and only where its last readings show it."""

import numpy as np

from mv.controls.change_day import redated
from mv.controls.steps import Level

LEVELS = [Level(100, 110, 0.8, 0.005, 11), Level(111, 120, 1.0, 0.005, 10)]


def readings(changed_day: int, changed_reading: int) -> tuple[np.ndarray, np.ndarray]:
    """Ten readings a day; 0.8 until the changed reading of the changed day, then 1.0."""
    day = np.repeat(np.arange(100, 121), 10)
    number = np.arange(len(day))
    first = (changed_day - 100) * 10 + changed_reading
    return day, np.where(number < first, 0.8, 1.0)


def test_a_change_at_noon_belongs_to_its_own_day():
    assert redated(LEVELS, *readings(110, 5))[1].first_day == 110


def test_a_change_overnight_keeps_its_date():
    assert redated(LEVELS, *readings(111, 0))[1].first_day == 111


def test_one_last_reading_alone_does_not_move_the_date():
    assert redated(LEVELS, *readings(110, 9))[1].first_day == 111


def test_the_state_before_ends_the_day_before():
    before, after = redated(LEVELS, *readings(110, 5))
    assert before.last_day == after.first_day - 1
