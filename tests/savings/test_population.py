"""A sample of loggers carried to all the places of their group.

Ratio estimate and its variance: Cochran 1977, Sampling Techniques, 3rd ed., section 6.4 (from memory).
"""

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.sampling import achieved_precision
from mv.savings import Sample, carried, population_use

WEEKS = pd.date_range("2023-01-02", periods=364)


def test_the_ratio_estimate_weighs_by_connected_load() -> None:
    use = population_use(
        [300.0, 100.0, 210.0], [3.0, 1.0, 2.0],
        places=30, population_connected_kw=60.0, confidence=0.9,
    )  # fmt: skip
    assert not isinstance(use, CannotSay)
    ratio = 610 / 6
    assert use.per_connected_kw == pytest.approx(ratio)
    assert use.total.estimate == pytest.approx(60 * ratio)
    spread = sum((y - ratio * x) ** 2 for y, x in [(300, 3), (100, 1), (210, 2)]) / 2
    by_hand = 60 * np.sqrt((1 - 0.1) * spread / (3 * 4))
    assert use.total.standard_error == pytest.approx(by_hand)
    assert use.precision == pytest.approx(2.91999 * by_hand / (60 * ratio), rel=1e-5)  # t of 2 df, 90 %


def test_a_full_census_has_no_sampling_error() -> None:
    use = population_use([300.0, 100.0], [3.0, 1.5], places=2, population_connected_kw=4.5, confidence=0.9)
    assert not isinstance(use, CannotSay)
    assert use.total.standard_error == pytest.approx(0.0)


def test_sampling_intervals_hold_the_population_as_often_as_they_say() -> None:
    draw = np.random.default_rng(8)
    held = []
    for _ in range(400):
        load = draw.uniform(0.5, 3, 80)
        use = load * 2500 * draw.lognormal(-0.08, 0.4, 80)
        chosen = draw.choice(80, 20, replace=False)
        answer = population_use(
            use[chosen], load[chosen], places=80, population_connected_kw=load.sum(), confidence=0.9
        )
        assert not isinstance(answer, CannotSay)
        held.append(answer.total.low <= use.sum() <= answer.total.high)
    assert 0.85 <= np.mean(held) <= 0.94


def test_one_logger_says_nothing_of_the_others() -> None:
    answer = population_use([1.0], [1.0], places=9, population_connected_kw=9.0, confidence=0.9)
    assert isinstance(answer, CannotSay)


def _answer(value: float, error: float) -> Estimate:
    return Estimate(value, value - 1.6448536 * error, value + 1.6448536 * error, 0.9, error)


def _residuals(meters: list[str], seed: int = 1) -> dict[str, pd.Series]:
    draw = np.random.default_rng(seed)
    return {meter: pd.Series(draw.normal(size=len(WEEKS)), index=WEEKS) for meter in meters}


def test_equal_loads_give_the_precision_of_the_published_mean() -> None:
    """Ratio of equal loads is the mean: the same as IPMVP's achieved precision, by the other stage."""
    found = [8.0, 12.0, 10.0, 14.0, 9.0]
    use = population_use(found, [1.0] * 5, places=40, population_connected_kw=40.0, confidence=0.9)
    reached = achieved_precision(found, population=40)
    assert not isinstance(use, CannotSay)
    assert not isinstance(reached, CannotSay)
    assert use.precision == pytest.approx(reached.relative_precision)
    assert use.total.estimate == pytest.approx(40 * reached.mean.estimate)


def test_a_site_of_two_groups_and_a_meter_holds_its_truth_as_often_as_it_says() -> None:
    """Simulated populations: places differ, and each logger's own model errs too."""
    draw = np.random.default_rng(11)
    held = []
    everyone = [*(f"offices{k}" for k in range(60)), *(f"stairs{k}" for k in range(15)), "hall"]
    residuals = _residuals(everyone)
    for _ in range(200):
        truth, answers, samples = 0.0, {}, []
        for name, places, loggers in (("offices", 60, 12), ("stairs", 15, 6)):
            load = draw.uniform(0.5, 3, places)
            saved = load * 1500 * draw.lognormal(-0.03, 0.25, places)
            chosen = draw.choice(places, loggers, replace=False)
            own = {f"{name}{k}": float(0.06 * saved[k]) for k in chosen}
            answers |= {
                m: _answer(float(draw.normal(saved[int(m[len(name) :])], e)), e) for m, e in own.items()
            }
            loads = {f"{name}{k}": float(load[k]) for k in chosen}
            samples.append(Sample(name, places, float(load.sum()), loads))
            truth += float(saved.sum())
        answers["hall"] = _answer(float(draw.normal(20000, 800)), 800.0)
        truth += 20000
        found = carried(answers, residuals, samples, confidence=0.9)
        assert isinstance(found.total, Estimate)
        held.append(found.total.low <= truth <= found.total.high)
    assert 0.85 <= np.mean(held) <= 0.96


def test_a_census_keeps_the_loggers_own_doubt_and_no_other() -> None:
    answers = {"a": _answer(100.0, 5.0), "b": _answer(50.0, 5.0)}
    census = Sample("all", 2, 3.0, {"a": 2.0, "b": 1.0})
    residuals = _residuals(["a", "b"])
    whole = carried(answers, residuals, [census], confidence=0.9)
    plain = carried(answers, residuals, [], confidence=0.9)
    assert isinstance(whole.total, Estimate)
    assert isinstance(plain.total, Estimate)
    assert (whole.total.low, whole.total.high) == pytest.approx((plain.total.low, plain.total.high))


def test_places_not_logged_widen_the_interval_and_the_group_is_carried_by_load() -> None:
    answers = {"a": _answer(100.0, 1.0), "b": _answer(70.0, 1.0), "c": _answer(45.0, 1.0)}
    group = Sample("rooms", 12, 24.0, {"a": 3.0, "b": 2.0, "c": 1.0})
    found = carried(answers, _residuals(list(answers)), [group], confidence=0.9)
    assert isinstance(found.total, Estimate)
    assert found.total.estimate == pytest.approx(215 * 4)
    assert found.total.high - found.total.low > 4 * 2 * 1.645 * np.sqrt(3)
    assert found.groups["rooms"] == found.total


def test_a_lost_logger_leaves_its_group_to_the_others() -> None:
    answers: dict[str, Answer] = {"a": _answer(100.0, 1.0), "b": _answer(50.0, 1.0)}
    answers["c"] = CannotSay("avoided", "its file is empty")
    group = Sample("rooms", 12, 24.0, {"a": 2.0, "b": 1.0, "c": 3.0})
    found = carried(answers, _residuals(list(answers)), [group], confidence=0.9)
    assert isinstance(found.total, Estimate)
    assert found.total.estimate == pytest.approx(150 * 8)
    assert found.sampling["rooms"].sampled == 2


def test_one_logger_of_many_cannot_be_carried() -> None:
    answers = {"a": _answer(100.0, 1.0), "hall": _answer(5.0, 1.0)}
    group = Sample("rooms", 12, 24.0, {"a": 2.0})
    found = carried(answers, _residuals(list(answers)), [group], confidence=0.9)
    assert isinstance(found.total, CannotSay)
    assert "1 of 12 places" in found.total.why
