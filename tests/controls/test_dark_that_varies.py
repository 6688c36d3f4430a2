"""A month whose few days without sun vary more than any fall under the sun tells nothing of daylight."""

import numpy as np
import pytest

from mv.controls.daily import Daily
from mv.controls.daylight import month_answer
from mv.controls.month_record import MonthView

SUNNY = np.arange(100, 122)


def of_days(day: np.ndarray, value: float) -> Daily:
    return Daily(day, np.full(len(day), value), np.full(len(day), 10.0))


def january(lowest_without_sun: float) -> MonthView:
    """Twenty-two sunny days on which lamps show no more than a slight fall, and three days without sun."""
    dark = np.array([97, 98, 99])
    return MonthView(
        month=1,
        hold_minutes=None,
        hold_spread=0.0,
        events=None,
        lag_minutes=None,
        daily={
            "bright": of_days(SUNNY, 0.97),
            "bright_low": of_days(SUNNY, 0.95),
            "bright_sun": of_days(SUNNY, 30.0),
            "dark": of_days(dark, 1.0),
            "dark_low": of_days(dark, lowest_without_sun),
            "on_any": of_days(SUNNY, 1.0),
        },
        dark_level=1.0,
    )


@pytest.mark.parametrize(("lowest_without_sun", "answer"), [(0.96, False), (0.36, None)])
def test_lamps_that_fall_as_far_without_sun_show_no_answer_and_no_lack_of_one(
    lowest_without_sun: float, answer: bool | None
) -> None:
    assert month_answer(january(lowest_without_sun)) is answer
