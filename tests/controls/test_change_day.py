"""A change within the day is dated to that day, and only where its last readings show it."""

import numpy as np

from mv.controls.change_day import dated_by_dwelling, redated
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


def dwelt(changed_day: int, *, old: float, new: float, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """Readings of days 60-160: at full while people are there, else at the old or the new level."""
    rng = np.random.default_rng(seed)
    day = np.repeat(np.arange(60, 161), 40)
    rest = np.where(day < changed_day, old, new) + rng.normal(0, 0.003, len(day))
    return day, np.where(rng.random(len(day)) < 0.6, 0.9, rest)


def test_a_level_told_by_months_begins_on_the_day_from_which_readings_dwell_at_it():
    """The month of day 91 told the old level though it changed on any of its days, or on the next's."""
    told = [Level(60, 121, 0.2, 0.005, 60), Level(122, 160, 0.45, 0.005, 39)]
    for changed in (95, 104, 117, 122, 126):
        before, after = dated_by_dwelling(told, *dwelt(changed, old=0.2, new=0.45), room=0.03)
        assert abs(after.first_day - changed) <= 1
        assert before.last_day < after.first_day


def test_levels_too_near_to_be_told_apart_keep_the_date_of_the_month():
    told = [Level(60, 121, 0.2, 0.005, 60), Level(122, 160, 0.25, 0.005, 39)]
    assert dated_by_dwelling(told, *dwelt(104, old=0.2, new=0.25), room=0.03) == told
