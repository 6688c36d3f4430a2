"""The screen's clock runs forwards, and says what the site's clock showed."""

import pandas as pd
import pytest

from mv.figures import drawing_times, from_screen, wall_clock
from mv.figures.screen_time import clock_changes

CHICAGO = "America/Chicago"
# United States, 5 November 2023: 02:00 CDT becomes 01:00 CST (Energy Policy Act of 2005, section 110:
# first Sunday in November; from memory)
AUTUMN = pd.date_range("2023-11-05 05:00", periods=16, freq="15min", tz="UTC")


def test_the_autumn_hour_is_drawn_forwards() -> None:
    times = drawing_times(AUTUMN, CHICAGO)
    assert times.tz is None
    assert (times[1:] - times[:-1] == pd.Timedelta("15min")).all()
    assert times[0] == pd.Timestamp("2023-11-05 00:00")


def test_both_passes_of_the_autumn_hour_are_told_apart() -> None:
    clock = wall_clock(AUTUMN, CHICAGO)
    assert clock[4] == "Sun 05 Nov 2023 01:00 CDT"
    assert clock[8] == "Sun 05 Nov 2023 01:00 CST"
    assert clock[12] == "Sun 05 Nov 2023 02:00"


def test_the_clock_change_is_told_in_words() -> None:
    (sentence,) = clock_changes(AUTUMN[0], AUTUMN[-1], CHICAGO)
    assert sentence.startswith("The clocks went back on 5 November 2023")


def test_the_spring_change_is_told_in_words() -> None:
    start = pd.Timestamp("2024-03-30 12:00", tz="UTC")
    (sentence,) = clock_changes(start, start + pd.Timedelta("1D"), "Europe/Dublin")
    assert sentence.startswith("The clocks went forward on 31 March 2024")


def test_a_window_without_a_change_says_nothing_of_clocks() -> None:
    start = pd.Timestamp("2024-06-01", tz="UTC")
    assert clock_changes(start, start + pd.Timedelta("7D"), CHICAGO) == []


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("2023-07-01 00:00", "2023-07-01T05:00Z"),
        ("2023-01-01T00:00:00.000", "2023-01-01T06:00Z"),
        ("2024-03-10 02:30", "2024-03-10T08:00Z"),  # an hour that the clock skips
        ("2023-11-05 01:30", "2023-11-05T06:30Z"),  # the first of its two passes
    ],
)
def test_a_time_from_the_screen_becomes_the_instant_it_means(text: str, instant: str) -> None:
    assert from_screen(text, CHICAGO) == pd.Timestamp(instant)


def test_nothing_to_draw_gives_no_times() -> None:
    assert len(drawing_times(pd.DatetimeIndex([], tz="UTC"), CHICAGO)) == 0
