"""Load drop in a call against a stated baseline rule."""

from datetime import datetime

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.programme_records import DemandEvent, DemandResponse
from mv.peak import load_drop, load_drops

ZONE = "America/New_York"
CALL = DemandEvent(first=datetime(2024, 7, 17, 14), last=datetime(2024, 7, 17, 18))


def _load(*, drop_kw: float = 0.0, noise_kw: float = 0.0, first: str = "2024-05-01") -> pd.Series:
    index = pd.date_range(first, "2024-07-20", freq="15min", tz=ZONE, inclusive="left")
    rng = np.random.default_rng(11)
    days = rng.normal(0.0, 1.0, 400)[np.asarray((index - index[0]).days)]
    on = (index.hour >= 7) & (index.hour < 19) & (index.day_of_week < 5)
    power = np.where(on, 40.0 + noise_kw * days, 3.0)
    called = (index >= pd.Timestamp(CALL.first, tz=ZONE)) & (index < pd.Timestamp(CALL.last, tz=ZONE))
    return pd.Series(power - drop_kw * called, index=index.tz_convert("UTC"))


def test_a_known_drop_is_found_exactly_on_a_steady_load() -> None:
    found = load_drop(_load(drop_kw=12.0), CALL, DemandResponse(events=(CALL,)), timezone=ZONE)
    assert isinstance(found.drop_kw, Estimate) and isinstance(found.drop_kwh, Estimate)
    assert found.drop_kw.estimate == pytest.approx(12.0)
    assert found.drop_kwh.estimate == pytest.approx(48.0)
    assert len(found.days) == 5 and "5 highest of the last 10" in found.rule


def test_the_interval_holds_the_drop_and_shows_the_rules_bias() -> None:
    rule = DemandResponse(events=(CALL,))
    found = load_drop(_load(drop_kw=12.0, noise_kw=3.0), CALL, rule, timezone=ZONE)
    assert isinstance(found.drop_kw, Estimate)
    assert found.drop_kw.low is not None and found.drop_kw.high is not None
    assert found.drop_kw.low < 12.0 < found.drop_kw.high
    assert found.drop_kw.high - found.drop_kw.low > 1.0


def test_the_highest_days_make_the_baseline() -> None:
    load = _load()
    hot = load.index.tz_convert(ZONE)
    load[(hot.date == pd.Timestamp("2024-07-15").date()) & (hot.hour >= 14) & (hot.hour < 18)] = 60.0
    rule = DemandResponse(events=(CALL,), days_back=10, days_kept=1)
    found = load_drop(load, CALL, rule, timezone=ZONE)
    assert found.baseline_kw == pytest.approx(60.0)
    assert [str(day) for day in found.days] == ["2024-07-15"]


def test_the_adjustment_lifts_the_baseline_within_its_cap() -> None:
    load = _load()
    local = load.index.tz_convert(ZONE)
    morning = (local.date == pd.Timestamp("2024-07-17").date()) & (local.hour >= 11) & (local.hour < 14)
    load[morning] = 60.0
    rule = DemandResponse(events=(CALL,), adjustment_hours=3, adjustment_cap=0.2)
    found = load_drop(load, CALL, rule, timezone=ZONE)
    assert found.baseline_kw == pytest.approx(48.0)
    assert "at most 20%" in found.rule


def test_calls_holidays_and_weekends_are_no_baseline_days() -> None:
    other = DemandEvent(first=datetime(2024, 7, 16, 14), last=datetime(2024, 7, 16, 18))
    rule = DemandResponse(events=(CALL, other), days_back=5, days_kept=5)
    found = load_drop(_load(), CALL, rule, timezone=ZONE, holidays=(pd.Timestamp("2024-07-12").date(),))
    days = [str(day) for day in found.days]
    assert days == ["2024-07-08", "2024-07-09", "2024-07-10", "2024-07-11", "2024-07-15"]


def test_too_few_days_before_the_call_cannot_say() -> None:
    rule = DemandResponse(events=(CALL,))
    found = load_drops(_load(first="2024-07-10"), rule, timezone=ZONE)[0]
    assert isinstance(found.drop_kw, CannotSay) and "10 eligible days" in found.drop_kw.why
    few = load_drop(_load(first="2024-07-01"), CALL, rule, timezone=ZONE)
    assert isinstance(few.drop_kw, CannotSay) and "no interval" in few.drop_kw.why


def test_a_call_outside_the_metering_cannot_say() -> None:
    later = DemandEvent(first=datetime(2025, 7, 17, 14), last=datetime(2025, 7, 17, 18))
    found = load_drop(_load(), later, DemandResponse(events=(later,)), timezone=ZONE)
    assert isinstance(found.drop_kw, CannotSay)


def test_a_call_on_a_day_off_has_no_like_days_to_be_set_against() -> None:
    saturday = DemandEvent(first=datetime(2024, 7, 13, 14), last=datetime(2024, 7, 13, 18))
    rule = DemandResponse(events=(saturday,))
    found = load_drop(_load(), saturday, rule, timezone=ZONE)
    assert isinstance(found.drop_kw, CannotSay) and "day off" in found.drop_kw.why
    holiday = load_drop(_load(drop_kw=5.0), CALL, rule, timezone=ZONE, holidays=[CALL.first.date()])
    assert isinstance(holiday.drop_kw, CannotSay)


def test_a_call_as_result_json_carries_it() -> None:
    rule = DemandResponse(events=(CALL,))
    record = load_drop(_load(drop_kw=12.0), CALL, rule, timezone=ZONE).as_json()
    assert record["first"] == "2024-07-17T14:00:00" and len(record["baseline_days"]) == 5
    assert record["baseline_kw"] - record["metered_kw"] == pytest.approx(record["drop_kw"]["estimate"])
