"""NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.3 (CUSUM control charts).

Data: the handbook's 20 sample means, read from the documentation of CRAN package vMask, which
quotes that page; target 325. k 0.3175 and h 4.1959 are the handbook's (from memory; consistent
with 2 k ln(1/0.00135) = 4.195858). The sums were worked from the handbook's definition apart from
this code.
"""

import numpy as np
import pytest

from mv.drift import plain_cusum, tabular_cusum

MEANS = np.array(
    "324.925 324.675 324.725 324.350 325.350 325.225 324.125 324.525 325.225 324.600 "
    "324.625 325.150 328.325 327.250 327.825 328.500 326.675 327.775 326.875 328.350".split(),
    dtype=float,
)


@pytest.fixture(scope="module")
def chart():
    return tabular_cusum(MEANS, target=325.0, allowance=0.3175, limit=4.1959)


def test_the_first_alarm_is_at_the_fourteenth_sample(chart):
    assert chart.first_alarm is not None
    assert chart.first_alarm + 1 == 14


@pytest.mark.parametrize(
    ("sample", "high"), [(5, 0.0325), (13, 3.0075), (14, 4.94), (15, 7.4475), (20, 19.035)]
)
def test_the_upper_sum_is_the_handbooks(chart, sample, high):
    assert chart.high[sample - 1] == pytest.approx(high, abs=1e-9)


def test_the_lower_sum_peaks_at_sample_eight_and_never_alarms(chart):
    assert chart.low.max() == pytest.approx(0.715, abs=1e-9)
    assert int(chart.low.argmax()) + 1 == 8
    assert chart.low.max() < 4.1959


@pytest.mark.parametrize(("sample", "total"), [(12, -2.5), (13, 0.825), (20, 19.075)])
def test_the_plain_sum_of_departures(sample, total):
    assert plain_cusum(MEANS, target=325.0)[sample - 1] == pytest.approx(total, abs=1e-9)


def test_a_missing_value_carries_the_sums_on():
    broken = MEANS.copy()
    broken[13] = np.nan
    chart = tabular_cusum(broken, target=325.0, allowance=0.3175, limit=4.1959)
    assert chart.high[13] == chart.high[12]
    assert chart.first_alarm is not None
    assert chart.first_alarm + 1 == 15
