"""Every figure has its words; an absent part gives a reason, never an error."""

from typing import Any

import pytest

from mv import figures
from mv.base.verification import Verification


def every_figure(verification: Verification, scheme: Any) -> dict[str, figures.FigureWithWords]:
    """All of them, at one scheme."""
    result, study = verification.result, verification.study
    meter = verification.meters["LP-1"]
    return {
        "promise": figures.savings_against_promise(result, scheme=scheme),
        "running": figures.running_total(verification, scheme=scheme),
        "months": figures.monthly_energy(result, scheme=scheme),
        "days": figures.daily_energy(verification, scheme=scheme),
        "power": figures.power_map(meter, study, scheme=scheme),
        "coverage": figures.coverage_map(meter, study, scheme=scheme),
        "week": figures.typical_week(meter, study, scheme=scheme),
        "day": figures.typical_day(meter, study, scheme=scheme),
        "fit": figures.model_scatter(verification, "LP-1", scheme=scheme),
        "residuals": figures.residuals(verification, "LP-1", scheme=scheme),
        "readings": figures.readings(meter, study, scheme=scheme),
        "setting": figures.setting_history(verification, "hall", "high_trim", scheme=scheme),
        "meters": figures.meter_savings(result, scheme=scheme),
        "month": figures.month_days(verification, "2024-10", scheme=scheme),
        "site": figures.site_map(verification, "2024-10", scheme=scheme),
        "bridge": figures.bridge(result, "predicted_to_verified", scheme=scheme),
    }


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_figure_has_title_caption_table_and_name(verification: Verification, scheme: str) -> None:
    for name, words in every_figure(verification, scheme).items():
        assert words.figure is not None, name
        assert words.title and words.caption.endswith((".", "load", "%")), name
        assert not words.table.empty, name
        assert words.accessible_name.startswith(words.title), name


def test_traces_of_one_figure_differ_in_more_than_colour(verification: Verification) -> None:
    """Dash, mark or kind: take the colour away and no two named traces look the same."""
    for name, words in every_figure(verification, "light").items():
        looks = []
        for trace in words.figure.data:
            if trace.type != "scatter" or trace.showlegend is False or trace.name is None:
                continue
            mode = trace.mode or ""
            looks.append(
                (
                    mode,
                    trace.fill,
                    trace.line.dash or "solid" if "lines" in mode else None,
                    trace.marker.symbol or "circle" if "markers" in mode else None,
                )
            )
        assert len(looks) == len(set(looks)), (name, looks)


def test_figures_fetch_nothing(verification: Verification) -> None:
    for name, words in every_figure(verification, "light").items():
        assert "http" not in words.figure.to_json(), name


def test_an_empty_result_gives_reasons_not_errors() -> None:
    empty: dict[str, Any] = {"cannot_say": [{"what": "normalised annual saving", "why": "no baseline"}]}
    assert figures.savings_against_promise(empty).caption == "no baseline"
    assert figures.monthly_energy(empty).figure is None
    assert figures.bridge(empty, "predicted_to_verified").figure is None
    short = [answer.short for answer in figures.three_answers(empty)]
    assert short == ["Cannot tell"] * 3


def test_null_parts_are_taken_as_absent() -> None:
    nulls = dict.fromkeys(("savings", "predicted", "bridge", "models", "settings", "drift", "money"))
    assert figures.savings_against_promise(nulls).figure is None
    assert [answer.short for answer in figures.three_answers(nulls)] == ["Cannot tell"] * 3


def test_names_from_files_cannot_become_markup(verification: Verification) -> None:
    step = {"step": "<a href='x'>step</a>", "kwh": {"estimate": 1.0, "low": 0.0, "high": 2.0}, "why": "<b>"}
    result = {"bridge": {"baseline_to_reporting": [step, step]}}
    text = figures.bridge(result, "baseline_to_reporting").figure.to_json()
    assert "<a" not in text and "<b>" not in text
