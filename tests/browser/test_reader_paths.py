"""The ways of the three readers through the dashboard."""

import csv
import io
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser


def test_the_first_page_answers_the_three_questions(
    open_dashboard: Callable[..., Any], address: str, width: str
) -> None:
    dashboard = open_dashboard(address, width=width).open("/")
    questions = dashboard.heading(2).all_inner_texts()
    assert questions[:3] == ["Did it save what was promised?", "How sure is that?", "Is it lasting?"]
    text = dashboard.text()
    assert "Less than promised" in text
    assert "60,000 kWh were promised" in text
    assert "We are 90 % confident" in text
    assert "Not all of it: 1 change" in text
    assert "Only qualified persons open panels." in text


def test_the_first_answer_stands_above_the_fold(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address, width="hand").open("/")
    box = dashboard.page.get_by_text("Less than promised").bounding_box()
    assert box is not None and box["y"] + box["height"] < dashboard.page.viewport_size["height"] / 2


def test_the_analyst_follows_a_meter_down_to_its_readings(
    open_dashboard: Callable[..., Any], address: str
) -> None:
    dashboard = open_dashboard(address).open("/").go_to("Energy").choose("Meter", "LP-1")
    assert dashboard.heading().inner_text() == "Energy against expectation"
    dashboard.choose("Window", "a week")
    caption = dashboard.figure("Readings: LP-1").inner_text()
    assert "672 readings of 15 minutes" in caption
    dashboard.page.get_by_role("navigation", name="Window").get_by_role("link", name="earlier").click()
    dashboard.page.wait_for_url(re.compile("start=2025-02-15"))
    assert dashboard.said == []


def test_a_drag_across_the_readings_cuts_them_anew(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address).open("/energy?meter=LP-1")
    figure = dashboard.figure("Readings: LP-1")
    assert "thinned to" in figure.inner_text()
    plot = figure.locator(".nsewdrag").first
    plot.scroll_into_view_if_needed()
    box = plot.bounding_box()
    assert box is not None
    middle = box["y"] + box["height"] / 2
    dashboard.page.mouse.move(box["x"] + 0.50 * box["width"], middle)
    dashboard.page.mouse.down()
    dashboard.page.mouse.move(box["x"] + 0.515 * box["width"], middle, steps=6)
    dashboard.page.mouse.up()
    figure.get_by_text("A shorter window").wait_for(state="detached")
    assert "thinned to" not in figure.inner_text()
    assert dashboard.said == []


def test_a_figure_shows_its_table_and_hides_it_again(
    open_dashboard: Callable[..., Any], address: str
) -> None:
    dashboard = open_dashboard(address, width="hand").open("/energy")
    figure = dashboard.figure("Each month")
    opener = figure.get_by_role("button", name="Show as table")
    assert opener.get_attribute("aria-expanded") == "false"
    opener.click()
    table = figure.get_by_role("table")
    table.wait_for()
    assert table.get_by_role("row").count() == 13
    assert opener.get_attribute("aria-expanded") == "true"
    opener.click()
    table.wait_for(state="detached")
    assert dashboard.overhang() <= 0


def test_the_manager_finds_what_to_check_first(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address, width="hand").open("/").go_to("Settings")
    text = dashboard.text()
    assert "hall: full-on level rose" in text
    assert "410 kWh a month more (350 to 470, 90 % confidence)" in text
    assert "read the trim of the hall's group in the control system" in text
    assert text.index("Only qualified persons open panels.") < text.index("Check first")


def test_a_zone_on_the_first_page_leads_to_its_settings(
    open_dashboard: Callable[..., Any], address: str
) -> None:
    dashboard = open_dashboard(address).open("/")
    dashboard.page.get_by_role("main").get_by_role("link", name="hall", exact=True).click()
    dashboard.page.wait_for_url("**/settings?zone=hall")
    dashboard.figure("hall: Hold time").wait_for()
    assert dashboard.heading().inner_text() == "Settings since hand-over"


def test_the_ledger_balances_and_names_its_lines(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address).open("/data")
    row = dashboard.page.get_by_role("row").filter(has=dashboard.page.get_by_role("rowheader", name="LP-1"))
    cells = [cell.replace(",", "") for cell in row.first.get_by_role("cell").all_inner_texts()]
    read, used, aside = (int(cell) for cell in cells[:3])
    assert read == used + aside
    assert "a.csv, lines 12-21" in dashboard.text()


def test_every_number_can_be_taken_away(
    open_dashboard: Callable[..., Any], address: str, tmp_path: Path, invented: Any
) -> None:
    dashboard = open_dashboard(address).open("/method")
    with dashboard.page.expect_download() as waiting:
        dashboard.page.get_by_role("link", name="The whole result").click()
    waiting.value.save_as(tmp_path / "result.json")
    result = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))
    assert result["predicted"] == {"annual_kwh": 60000.0, "peak_kw": 12.0}
    dashboard.open("/energy")
    with dashboard.page.expect_download() as waiting:
        dashboard.figure("Each month").get_by_role("link", name="Numbers as CSV").click()
    waiting.value.save_as(tmp_path / "months.csv")
    lines = list(csv.reader(io.StringIO((tmp_path / "months.csv").read_text(encoding="utf-8"))))
    assert len(lines) == 13
    assert lines[0][0] == "month"


def test_the_keyboard_alone_reaches_the_content_and_the_pages(
    open_dashboard: Callable[..., Any], address: str
) -> None:
    dashboard = open_dashboard(address).open("/")
    dashboard.page.keyboard.press("Tab")
    skip = dashboard.page.get_by_role("link", name="Skip to the content")
    assert skip.evaluate("e => e === document.activeElement")
    assert skip.bounding_box()["y"] >= 0
    dashboard.page.keyboard.press("Tab")
    dashboard.page.keyboard.press("Tab")
    dashboard.page.keyboard.press("Enter")
    dashboard.page.wait_for_url("**/month")
    dashboard.settled()
    dashboard.until("document.activeElement.id === 'content'")


def test_a_change_of_colour_scheme_redraws_the_figures(
    open_dashboard: Callable[..., Any], address: str
) -> None:
    dashboard = open_dashboard(address).open("/")
    colour = "(one => one && getComputedStyle(one).fill)(document.querySelector('.drawing .xtick text'))"
    light = dashboard.page.evaluate(colour)
    dashboard.page.emulate_media(color_scheme="dark")
    dashboard.until(f"![null, {json.dumps(light)}].includes({colour})")
    assert dashboard.said == []


def test_back_returns_to_the_former_view(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address).open("/energy").choose("Meter", "LP-2")
    dashboard.page.go_back()
    dashboard.page.wait_for_url("**/energy")
    chosen = dashboard.page.get_by_role("navigation", name="Meter").locator("[aria-current=true]")
    chosen.get_by_text("All meters").wait_for()


def test_without_a_verification_the_page_offers_to_make_one(
    open_dashboard: Callable[..., Any], served: Callable[[Any], str], invented: Any, tmp_path: Path
) -> None:
    from dashboards import create_app
    from mv.base.errors import StudyError

    (tmp_path / "study.toml").write_text("format = 1\n", encoding="utf-8")
    made = tmp_path / "made"

    def opener(path: Path, _results: Path | None) -> Any:
        if not made.exists():
            raise StudyError("holds no verification yet", file=path, remedy="Run: tallylux verify")
        return invented.invented_verification()

    said = '{"what": "Reading LP-1", "fraction": 0.4}', '{"answer": "made"}'
    work = f"import time; print({said[0]!r}, flush=True); time.sleep(1.2); open({str(made)!r}, 'w').close()"
    app = create_app(
        tmp_path,
        results=tmp_path,
        opener=opener,
        verify=lambda: [sys.executable, "-c", f"{work}; print({said[1]!r})"],
    )
    dashboard = open_dashboard(served(app)).open("/")
    assert dashboard.heading().inner_text() == "No verification to show yet"
    assert "tallylux verify" in dashboard.text()
    dashboard.page.get_by_role("button", name="Verify now").click()
    dashboard.page.get_by_text("Reading LP-1 (40 %)").wait_for()
    assert dashboard.page.get_by_role("progressbar").is_visible()
    dashboard.page.get_by_role("heading", name="Did it save what was promised?").wait_for(timeout=15_000)
    assert dashboard.said == []


def test_a_verification_stops_at_once_when_asked(
    open_dashboard: Callable[..., Any], served: Callable[[Any], str], tmp_path: Path
) -> None:
    from dashboards import create_app

    (tmp_path / "study.toml").write_text("format = 1\n", encoding="utf-8")
    line = '{"what": "Modelling LP-1", "fraction": 0.5}'
    work = f"import time; print({line!r}, flush=True); time.sleep(600)"
    address = served(create_app(tmp_path, verify=lambda: [sys.executable, "-c", work]))
    dashboard, second = open_dashboard(address).open("/"), open_dashboard(address)
    dashboard.page.get_by_role("button", name="Verify now").click()
    dashboard.page.get_by_text("Modelling LP-1 (50 %)").wait_for()
    second.open("/").page.get_by_text("Modelling LP-1 (50 %)").wait_for()
    dashboard.page.get_by_role("button", name="Stop").click()
    dashboard.page.get_by_text("Stopped: as asked").wait_for(timeout=15_000)
    second.page.get_by_text("Stopped: as asked").wait_for(timeout=15_000)
    assert dashboard.page.get_by_role("button", name="Verify now").is_enabled()
    assert dashboard.said == second.said == []


def test_the_manager_reads_one_month_and_notes_a_finding(
    open_dashboard: Callable[..., Any],
    served: Callable[[Any], str],
    invented: Any,
    tmp_path: Path,
    width: str,
) -> None:
    from dashboards import create_app
    from mv.base.verification import Verification

    (tmp_path / "study.toml").write_text("format = 1\n", encoding="utf-8")
    record = invented.invented_verification()
    study = record.study.model_copy(update={"folder": tmp_path})
    record = Verification(study, record.result, record.meters, record.daily, record.settings_by_month)
    address = served(create_app(tmp_path, opener=lambda _path, _results: record))
    dashboard = open_dashboard(address, width="hand").open("/").go_to("Month").choose("Month", "Oct 2024")
    text = dashboard.text()
    assert "How did October 2024 go?" in text
    expected = next(row for row in record.result["savings"]["monthly"] if row["month"] == "2024-10")
    told = re.search(r"where ([\d,]+) kWh were expected without the retrofit\.", text)
    assert told and float(told[1].replace(",", "")) == pytest.approx(expected["expected_kwh"], rel=0.01)
    dashboard.page.get_by_text("Note that this is known").first.click()
    dashboard.page.get_by_label("Your name").fill("A. Keeper")
    dashboard.page.get_by_role("button", name="Note that this is known").click()
    dashboard.page.get_by_role("alert").get_by_text("must hold 1 to").wait_for()
    dashboard.page.get_by_label("Your name").fill("A. Keeper")
    dashboard.page.get_by_label("Why it may stand").fill("the trim goes back on Monday")
    dashboard.page.get_by_role("button", name="Note that this is known").click()
    dashboard.page.get_by_text("(A. Keeper): the trim goes back on Monday").wait_for()
    assert dashboard.overhang() <= 0
    assert dashboard.said == []
    dashboard.go_to("Settings")
    assert "(A. Keeper): the trim goes back on Monday" in dashboard.text()


def test_a_finding_stands_beside_what_shows_it(
    open_dashboard: Callable[..., Any], address: str, width: str
) -> None:
    dashboard = open_dashboard(address, width=width).open("/settings?zone=hall")
    finding = dashboard.page.locator(".findings > li")
    assert finding.count() == 1
    names = finding.locator("[role=img]").evaluate_all(
        "all => all.map(one => one.getAttribute('aria-label'))"
    )
    assert [name.split(".")[0] for name in names] == [
        "hall: each day against what was usual",
        "hall: the usual day, hour by hour",
        "hall: Full-on level",
    ]
    assert "Before 16 September 2024 the mean lay at 0.0" in names[0]
    assert finding.locator(".scatterlayer .trace").count() > 5
    opener = finding.get_by_role("button", name="Show as table: hall: each day against what was usual")
    opener.click()
    finding.get_by_role("table").wait_for(timeout=15_000)
    assert "without any change, kWh" in finding.get_by_role("table").inner_text()
    words, picture = (finding.locator(part).bounding_box() for part in (".told", ".shown-by"))
    beside = picture["x"] >= words["x"] + words["width"]
    assert beside == (width == "desk")
    assert dashboard.overhang() <= 0
    assert dashboard.said == []


def test_a_printed_drawing_stays_within_the_sheet_and_the_screen_is_as_before(
    open_dashboard: Callable[..., Any], address: str
) -> None:
    dashboard = open_dashboard(address).open("/")
    wide = dashboard.page.locator(".card.wide .drawing .svg-container").first
    before = wide.bounding_box()
    assert before["width"] > 900
    dashboard.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    dashboard.page.emulate_media(media="print")
    drawn = dashboard.page.locator(".drawing .svg-container > svg").all()
    assert drawn and all(drawing.bounding_box()["width"] <= 690 for drawing in drawn)
    dashboard.page.emulate_media(media="screen")
    dashboard.page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    dashboard.page.wait_for_timeout(400)
    after = wide.bounding_box()
    assert (after["width"], after["height"]) == (before["width"], before["height"])
    assert dashboard.said == []
