"""The fall of the load after motion: its moment, and the time that fading lamps take."""

import numpy as np
import pytest

from mv.controls.fall_edge import fade_minutes, fall_edges

HIGH, LOW, ROWS = 0.8, 0.1, 40


def _windows(moments, fade, *, step=1.0, noise=0.0, seed=5):
    """Readings of many falls, each begun `moments` minutes after motion ended at the start of its window."""
    rng = np.random.default_rng(seed)
    fine = np.arange(0.0, ROWS * step, step / 60.0) + step / 120.0
    share = np.clip(1.0 - (fine - moments[:, None]) / max(fade, 1e-9), 0.0, 1.0)
    level = (LOW + (HIGH - LOW) * share).reshape(len(moments), ROWS, 60).mean(axis=2)
    level += rng.normal(0.0, noise, level.shape)
    first = np.arange(len(moments)) * ROWS
    return level.ravel(), np.arange(level.size) * step, first


def _falls(moments, fade, **more):
    level, start, first = _windows(moments, fade, **more)
    step = more.get("step", 1.0)
    known = np.full(len(moments), HIGH), np.full(len(moments), LOW)
    return fall_edges(
        level,
        start,
        step,
        start[first],
        first,
        first + ROWS - 1,
        high=known[0],
        low=known[1],
        surely_on=np.zeros(len(level), dtype=bool),
        step_level=0.0,
    )


def test_a_fall_at_once_is_dated_to_seconds_wherever_it_lies_in_an_interval():
    moments = np.random.default_rng(1).uniform(8.0, 12.0, 200)
    assert _falls(moments, 0.0).minutes == pytest.approx(moments, abs=0.02)


def test_lamps_that_fade_are_dated_to_the_middle_of_the_fade():
    moments = np.random.default_rng(2).uniform(8.0, 12.0, 200)
    assert _falls(moments, 1.0).minutes == pytest.approx(moments + 0.5, abs=0.02)


@pytest.mark.parametrize("fade", [0.0, 0.5, 1.0, 2.0])
def test_the_time_of_a_fade_shows_in_one_minute_readings(fade):
    moments = np.random.default_rng(3).uniform(8.0, 12.0, 400)
    least, greatest = fade_minutes(_falls(moments, fade, noise=0.003).variance, 1.0)
    assert least - 0.05 <= fade <= greatest + 0.05
    assert greatest - least < 0.6


def test_readings_of_five_minutes_do_not_tell_a_fade():
    moments = np.random.default_rng(4).uniform(20.0, 40.0, 400)
    assert fade_minutes(_falls(moments, 1.0, step=5.0).variance, 5.0) is None
