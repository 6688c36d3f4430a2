"""A load added to the circuit of lamps that are never off."""

from dataclasses import replace

import numpy as np

from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings

DAY = 70  # of 130, from which the load is there


def test_a_load_added_beside_lamps_that_are_never_off_does_not_turn_them_off(make_zone, truth_of):
    """Lamps at 44 % all night by agreement; 0.3 kW more from the day on."""
    truth = truth_of(low_level=0.44, hold_minutes=30.0, daylight_dimming=False, scheduled_off=False)
    meter, log, conditions, (first, last) = make_zone(truth, days=130, minutes=5, seed=2)
    late = np.arange(len(meter.energy_kwh)) >= DAY * 288
    more = replace(meter, energy_kwh=meter.energy_kwh + np.where(late, 0.3 / 12.0, 0.0))
    agreed = Commissioned(high_trim=truth.high_trim, low_level=0.44, hold_minutes=30.0, scheduled_off=False)
    found = infer_settings(
        Zone(id="z", commissioned=agreed, fixtures=truth.fixtures, watts_after=truth.watts),
        more,
        log,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )
    (nights,) = [f for f in found.findings if f.setting == "scheduled_off"]
    assert nights.verdict == "kept"
    assert "always_on_kw" in [sign.setting for sign in found.signs]
