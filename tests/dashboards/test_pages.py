"""Every page lays itself out from any result that keeps the contract, and from one stripped bare."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import plotly
import pytest

from dashboards.choice import Choice
from dashboards.drawn import DRAWINGS, draw, height_px
from dashboards.pages import PAGES
from dashboards.router import card_or_defect
from dashboards.shelf import Shelf

WITHOUT_FIGURES: tuple[str, ...] = ()
OPTIONAL = (
    "bridge",
    "models",
    "settings",
    "drift",
    "money",
    "cautions",
    "cannot_say",
    "acceptance",
    "cleaning",
)


def laid_out(page: Any, verification: Any, choice: Choice) -> str:
    """The page as the JSON that goes to the browser."""
    return json.dumps(page(verification, choice, "light"), cls=plotly.utils.PlotlyJSONEncoder)


@pytest.mark.parametrize("address", PAGES)
def test_a_page_lays_itself_out(verification: Any, address: str) -> None:
    assert '"H1"' in laid_out(PAGES[address][1], verification, Choice())


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.parametrize("key", OPTIONAL)
def test_a_page_stands_without_an_optional_part(verification: Any, address: str, key: str) -> None:
    result = {name: value for name, value in verification.result.items() if name != key}
    laid_out(PAGES[address][1], replace(verification, result=result), Choice())


@pytest.mark.parametrize("address", PAGES)
def test_a_page_stands_when_every_optional_part_is_null(verification: Any, address: str) -> None:
    result = verification.result | dict.fromkeys(OPTIONAL)
    laid_out(PAGES[address][1], replace(verification, result=result), Choice())


@pytest.mark.parametrize("address", PAGES)
def test_a_page_stands_when_no_saving_can_be_given(verification: Any, address: str) -> None:
    savings = {
        "avoided_kwh": None,
        "normalised_annual_kwh": None,
        "peak_kw": None,
        "by_meter": dict.fromkeys(verification.meters),
        "monthly": [],
    }
    bare = {"savings": savings, "predicted": {"annual_kwh": None, "peak_kw": None}, "realisation_rate": None}
    told = laid_out(PAGES[address][1], replace(verification, result=verification.result | bare), Choice())
    assert "NaN" not in told


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.parametrize(
    "query",
    [
        "?meter=nobody&zone=nowhere&month=1999-13",
        "?meter=LP-1&start=yesterday&end=9999-99-99",
        "?" + "a=1&" * 2000,
    ],
)
def test_an_address_made_up_by_hand_is_no_error(verification: Any, address: str, query: str) -> None:
    laid_out(PAGES[address][1], verification, Choice.read(query))


@pytest.mark.parametrize("name", DRAWINGS)
def test_every_drawing_is_under_the_size_a_page_can_carry(verification: Any, name: str) -> None:
    choice = Choice(
        meter="LP-1",
        zone="hall",
        setting="high_trim",
        bridge="predicted_to_verified",
        month="2024-10",
        finding="0badf00d",
    )
    words = DRAWINGS[name](verification, choice, "light")
    assert words.figure is not None
    assert len(words.figure.to_json()) < 170_000


@pytest.mark.parametrize("address", PAGES)
def test_a_page_and_its_figures_carry_less_than_500_kb(verification: Any, address: str) -> None:
    page = laid_out(PAGES[address][1], verification, Choice())
    keys = re.findall(r'"key": "([^"]+)", "type": "card"|"type": "card", "key": "([^"]+)"', page)
    figures = [card_or_defect(first or second, shelf_of(verification), "light") for first, second in keys]
    texts = [json.dumps(held, cls=plotly.utils.PlotlyJSONEncoder) for held in figures]
    assert bool(keys) == (address not in WITHOUT_FIGURES)
    assert not [text for text in texts if "A defect of the program" in text]
    assert len(page) + sum(map(len, texts)) < 500_000


def test_a_drawing_that_fails_is_told_in_its_place(
    verification: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    held = card_or_defect("hours?meter=nobody", shelf_of(verification), "light")
    assert "A defect of the program" in str(held)
    assert "KeyError" in capsys.readouterr().err


def shelf_of(verification: Any) -> Shelf:
    return Shelf(Path("nowhere"), opener=lambda _path, _results: verification)


def test_a_choice_survives_the_address_bar() -> None:
    choice = Choice(meter="LP 1/ä&=?", start="2024-05-01T00:00", end="2024-05-08T00:00")
    assert Choice.read(choice.query()) == choice
    assert Choice().query() == ""


def test_safety_stands_on_every_page_where_people_may_act(verification: Any) -> None:
    for address in ("/", "/month", "/settings", "/method"):
        assert "Only qualified persons open panels." in laid_out(PAGES[address][1], verification, Choice()), (
            address
        )


def test_what_was_seen_without_an_agreement_stands_under_its_zone_alone(verification: Any) -> None:
    row = {
        "zone": "aisles", "setting": "after_hours_kwh", "unit": None, "month": "2025-02", "why": "",
        "observed": {"estimate": 290.0, "low": 230.0, "high": 350.0, "confidence": 0.9},
    }  # fmt: skip
    settings = [{"zone": "aisles", "setting": "high_trim"}, {"zone": "hall", "setting": "high_trim"}]
    result = verification.result | {"settings": settings, "settings_observed": [row]}
    page = PAGES["/settings"][1]
    shown = {
        zone: laid_out(page, replace(verification, result=result), Choice(zone=zone))
        for zone in ("aisles", "hall")
    }
    assert "After-hours use" in shown["aisles"]
    assert "230" in shown["aisles"]
    assert "After-hours use" not in shown["hall"]


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_room_kept_for_a_drawing_is_the_drawings_height(verification: Any, name: str) -> None:
    setting, finding = verification.result["settings"][0], verification.result["drift"][0]["id"]
    choice = Choice(
        "LP-1", setting["zone"], setting["setting"], "predicted_to_verified", "", "", "2024-10", finding
    )
    figure = draw(name, verification, choice, "light").figure
    steps_follow_the_job = name == "bridge"
    near = 100 if steps_follow_the_job else 0
    assert height_px(name, verification) == pytest.approx(figure.layout.height, abs=near)
