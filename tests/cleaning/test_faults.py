"""Faults of single readings: what is set aside, what is only remarked, and that totals are kept.

The thresholds are common practice, no source; the files are constructed.
"""

import numpy as np
import pytest

LOAD = [{"id": "z", "meter": "m", "fixtures": 80, "watts_before": 100.0, "watts_after": 100.0}]  # 8 kW


def test_a_reading_beyond_the_connected_load_is_set_aside(clean, raw, study, quarter_hours, timetable):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    kwh[500] = 9.0  # 36 kW where 8 kW are connected
    series = clean(raw(stamps, kwh), study=study(zones=LOAD))
    assert dict(series.ledger.set_aside) == {"spike": 1}
    assert series.ledger.set_aside_lines["spike"] == {"a.csv": "502"}
    assert series.ledger.energy_used_kwh == pytest.approx(kwh.sum() - 9.0)


def test_without_a_connected_load_an_outlier_is_remarked_and_kept(
    clean, raw, quarter_hours, timetable, codes
):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    kwh[500] = 30.0
    series = clean(raw(stamps, kwh))
    assert not series.ledger.set_aside
    assert "outlier" in codes(series)


def test_a_unit_error_of_a_thousand_is_remarked_and_nothing_is_rescaled(
    clean, raw, study, quarter_hours, timetable, codes
):
    stamps = quarter_hours(14)
    kwh = timetable(stamps) * 1000
    series = clean(raw(stamps, kwh), study=study(zones=LOAD))
    assert {"factor", "above-load"} <= codes(series)
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())


@pytest.mark.parametrize("factor", [4.0, 0.25, 12.0, 1 / 60, 1 / 1000])
def test_each_factor_of_a_wrong_interval_or_unit_is_named(
    clean, raw, study, quarter_hours, timetable, codes, factor
):
    stamps = quarter_hours(14)
    series = clean(raw(stamps, timetable(stamps) * factor), study=study(zones=LOAD))
    assert "factor" in codes(series)


def test_a_load_as_connected_raises_no_remark(clean, raw, study, quarter_hours, timetable, codes):
    stamps = quarter_hours(28)
    assert codes(clean(raw(stamps, timetable(stamps)), study=study(zones=LOAD))) == set()


@pytest.mark.parametrize("share", [1 / 3, 2 / 3])
def test_a_third_of_the_load_missing_is_remarked(clean, raw, study, quarter_hours, timetable, codes, share):
    stamps = quarter_hours(14)
    assert "missing-phase" in codes(clean(raw(stamps, timetable(stamps) * share), study=study(zones=LOAD)))


def test_a_lump_after_a_gap_is_spread_over_it_and_its_total_kept(
    clean, raw, study, quarter_hours, timetable, codes
):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    hole = slice(400, 420)
    lumped = kwh.copy()
    lumped[420] += kwh[hole].sum()
    keep = np.ones(len(kwh), bool)
    keep[hole] = False
    series = clean(raw(stamps[keep], lumped[keep]), study=study(zones=LOAD))
    assert "catch-up-lump" in codes(series)
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())
    assert int(series.estimated.sum()) == 21
    assert series.spread is not None
    assert int(series.spread.sum()) == 21


def test_zeros_before_a_lump_stand_for_no_reading(clean, raw, study, quarter_hours, timetable, codes):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    lumped = kwh.copy()
    lumped[430:440] = 0.0
    lumped[440] += kwh[430:440].sum()
    series = clean(raw(stamps, lumped), study=study(zones=LOAD))
    assert dict(series.ledger.set_aside) == {"zero that stands for no reading": 10}
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())


def test_days_of_zeros_from_a_meter_that_never_reads_zero_are_missing(
    clean, raw, quarter_hours, timetable, codes
):
    stamps = quarter_hours(28)
    kwh = timetable(stamps)
    kwh[960:1248] = 0.0
    series = clean(raw(stamps, kwh))
    assert dict(series.ledger.set_aside) == {"zero that stands for no reading": 288}
    assert "zeros-as-missing" in codes(series)
    assert series.energy_kwh.isna().sum() == 288


def test_nights_and_weekends_at_zero_are_lights_off(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(28)
    kwh = timetable(stamps)
    kwh[kwh < 1] = 0.0
    assert not clean(raw(stamps, kwh)).ledger.set_aside


def test_a_fine_meter_that_stands_still_for_days_is_frozen(clean, raw, quarter_hours, timetable, codes):
    stamps = quarter_hours(28)
    kwh = timetable(stamps)
    kwh[700:900] = kwh[700]
    series = clean(raw(stamps, kwh))
    assert dict(series.ledger.set_aside) == {"frozen value": 200}


def test_a_flat_load_on_a_coarse_meter_is_not_frozen(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(28)
    kwh = np.round(timetable(stamps), 1)
    kwh[300:900] = 2.0  # lights left on for days
    assert not clean(raw(stamps, kwh)).ledger.set_aside


def test_lighting_that_reads_negative_is_set_aside_with_a_remedy(clean, raw, quarter_hours, timetable, codes):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    kwh[100:110] = -1.0
    series = clean(raw(stamps, kwh))
    assert series.ledger.set_aside["negative"] == 10


def test_a_meter_that_reads_backwards_is_not_turned_round_silently(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(14)
    series = clean(raw(stamps, -timetable(stamps)))
    remark = next(remark for remark in series.ledger.remarks if remark.code == "reversed")
    assert "multiplier = -1.0" in str(remark.remedy)
    assert series.ledger.rows_used == 0
    assert series.ledger.set_aside["negative"] == len(stamps)


def test_a_negative_correction_is_netted_with_its_surplus(clean, raw, quarter_hours, timetable, codes):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    at = 96 * 1 + 40  # a Tuesday forenoon
    wrong = kwh.copy()
    wrong[at] += 5.0
    wrong[at + 1] -= 5.0
    series = clean(raw(stamps, wrong))
    assert "netted-pairs" in codes(series)
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())
    assert int(series.estimated.sum()) == 2


def test_negative_readings_of_a_whole_building_are_solar_and_kept(
    clean, raw, study, quarter_hours, timetable, codes
):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    kwh[40:60] = -1.0
    series = clean(raw(stamps, kwh), study=study(measures="whole building"))
    assert not series.ledger.set_aside
    assert "negative" in codes(series)
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())


def test_small_negatives_are_noise_about_zero(clean, raw, quarter_hours, timetable):
    stamps = quarter_hours(14)
    kwh = timetable(stamps)
    kwh[kwh < 1] = np.random.default_rng(1).normal(0, 0.002, int((kwh < 1).sum()))
    series = clean(raw(stamps, kwh))
    assert not series.ledger.set_aside
    assert series.energy_kwh.sum() == pytest.approx(kwh.sum())
