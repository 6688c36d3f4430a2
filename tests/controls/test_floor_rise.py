"""A load that vacant lamps leave and that grows is neither a lost schedule nor a low level."""

import pytest

from mv.base.estimate import Estimate
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings


def inferred(truth, parts):
    meter, log, conditions, (first, last) = parts
    agreed = {
        name: getattr(truth, name) for name in ("high_trim", "low_level", "scheduled_off", "standby_watts")
    }
    return infer_settings(
        Zone(id="z", commissioned=Commissioned(**agreed), fixtures=truth.fixtures, watts_after=truth.watts),
        meter,
        log,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )


def moved(result):
    return {row.setting for row in (*result.findings, *result.signs) if row.verdict == "moved"}


@pytest.mark.parametrize("low", [0.2, 0.0])
def test_a_standby_of_several_watts_is_told_as_the_floor_alone(make_zone, truth_of, low):
    truth = truth_of(low_level=low, later={45: {"standby_watts": 3.6}})
    result = inferred(truth, make_zone(truth, minutes=5, days=90, seed=31))
    assert moved(result) == {"night_floor_kw"}
    sign = next(row for row in result.signs if row.setting == "night_floor_kw")
    assert isinstance(sign.observed, Estimate)
    assert sign.observed.estimate == pytest.approx(40 * 3.6 / 1000, abs=0.01)
    assert sign.since.isoformat() == "2024-04-15"


def test_nights_that_rise_to_the_level_of_resting_lamps_are_a_lost_schedule(make_zone, truth_of):
    truth = truth_of(low_level=0.1, later={45: {"scheduled_off": False}})
    assert "scheduled_off" in moved(inferred(truth, make_zone(truth, minutes=5, days=90, seed=32)))
