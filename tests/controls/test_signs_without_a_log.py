"""A longer time delay and a clock that runs wrong, told from the load alone."""

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings
from mv.controls.burn_lengths import burns

DAY = 70  # of 130, on which the setting changes


def signs_of(truth, parts):
    meter, _, conditions, (first, last) = parts
    agreed = Commissioned(
        high_trim=truth.high_trim,
        low_level=truth.low_level,
        hold_minutes=truth.hold_minutes,
        daylight_dimming=truth.daylight_dimming,
        scheduled_off=truth.scheduled_off,
    )
    found = infer_settings(
        Zone(id="z", commissioned=agreed, fixtures=truth.fixtures, watts_after=truth.watts),
        meter,
        None,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )
    return {sign.setting: sign for sign in found.signs}


@pytest.mark.parametrize("minutes", [1, 5, 15])
@pytest.mark.parametrize(("low", "longer"), [(0.0, 20.0), (0.2, 30.0)])
def test_a_longer_delay_shows_in_the_shortest_burns(make_zone, truth_of, minutes, low, longer):
    truth = truth_of(low_level=low, hold_minutes=6.0, later={DAY: {"hold_minutes": longer}})
    parts = make_zone(truth, days=130, minutes=minutes, seed=int(longer), busy=0.6)
    sign = signs_of(truth, parts)["burn_minutes"]
    assert sign.earlier.estimate == pytest.approx(6.0, abs=1.5)
    assert sign.observed.estimate == pytest.approx(longer, abs=1.5)
    assert abs(sign.since - (parts[3][0] + timedelta(days=DAY))) <= timedelta(days=2)


@pytest.mark.parametrize("minutes", [5, 15])
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_a_delay_that_stays_leaves_the_shortest_burns_alone(make_zone, truth_of, minutes, seed):
    truth = truth_of(hold_minutes=8.0, daylight_dimming=seed % 2 == 0)
    parts = make_zone(truth, days=130, minutes=minutes, seed=seed, busy=0.5 + 0.3 * seed)
    assert not {"burn_minutes", "schedule_shift_hours"} & set(signs_of(truth, parts))


@pytest.mark.parametrize(("dims", "read"), [(True, [15.0]), (False, [15.0, 600.0])])
def test_burns_that_last_a_winters_day_are_read_only_where_daylight_does_not_dim_them(dims, read):
    """Both begin and end in the dark: a short visit before dawn, and a day from 07:00 to 17:00."""
    quarter = np.arange(96)
    whole = (quarter >= 28) & (quarter < 68)
    table = SimpleNamespace(
        minutes=15.0,
        level=np.where((quarter == 20) | whole, 0.8, 0.0),
        is_open=np.zeros(96, dtype=bool),
        sun=15.0 - 30.0 * np.abs(quarter - 47.5) / 24.0,
        day=np.zeros(96, dtype=np.int64),
    )
    evidence = SimpleNamespace(
        record=SimpleNamespace(table=table),
        trim=[SimpleNamespace(value=0.8)],
        low=[],
        floors=[],
        floor=SimpleNamespace(base=0.0),
        may_dim=dims,
    )
    assert table.sun[28] < 0.0 and table.sun[67] < 0.0
    assert burns(evidence)[1] == pytest.approx(read)


@pytest.mark.parametrize("minutes", [5, 15, 60])
@pytest.mark.parametrize("hours", [-3.0, -1.0, 1.0])
def test_a_wrong_clock_moves_the_edges_of_the_day(make_zone, truth_of, minutes, hours):
    truth = truth_of(later={DAY: {"clock_hours": hours}})
    parts = make_zone(truth, days=130, minutes=minutes, seed=7)
    sign = signs_of(truth, parts)["schedule_shift_hours"]
    moved = sign.observed.estimate - sign.earlier.estimate
    assert moved == pytest.approx(hours, abs=0.3 if minutes < 60 else 0.6)
    assert abs(sign.since - (parts[3][0] + timedelta(days=DAY))) <= timedelta(days=2)


@pytest.mark.parametrize("growing", [True, False])
def test_morning_light_that_meets_the_days_own_with_the_season_is_no_wrong_clock(
    make_zone, truth_of, growing
):
    """0.5 kW from 05:45 to between 06:15 and 07:15; the day begins at 07:00."""
    meter, *others = make_zone(truth_of(hold_minutes=30.0), days=130, minutes=15, seed=7, busy=3.0)
    index = meter.energy_kwh.index
    hour = index.hour + index.minute / 60.0
    grown = (index - index[0]).days / 130.0
    until = 6.25 + (grown if growing else 1.0 - grown)
    early = (hour >= 5.75) & (hour < until) & (index.day_of_week < 5)
    met = replace(meter, energy_kwh=meter.energy_kwh + np.where(early, 0.5 * 0.25, 0.0))
    assert "schedule_shift_hours" not in signs_of(truth_of(hold_minutes=30.0), (met, *others))


def test_longer_hours_at_both_ends_are_no_wrong_clock(make_zone, truth_of):
    truth = truth_of(low_level=0.0, later={DAY: {"low_level": 0.3}})
    parts = make_zone(truth, days=130, minutes=15, seed=5)
    assert "schedule_shift_hours" not in signs_of(truth, parts)
