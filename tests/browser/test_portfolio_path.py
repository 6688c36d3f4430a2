"""The portfolio's page in a real browser: all studies, one study's own pages, and back."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mv.base.estimate import Estimate
from mv.portfolio import StudyRecord
from mv.portfolio.records import BrokenStudy, FindingRecord
from mv.store import save

pytestmark = pytest.mark.browser
HOSTILE = '"href":"/evil" <b>bold</b>'


def record(name: str, path: Path, *, saved: float, accepted: bool = True) -> StudyRecord:
    """An invented study's record."""
    return StudyRecord(
        name=name, path=str(path), key="", result_sha256="", series_sha256="", series_file="",
        title=f"Retrofit {name} {HOSTILE if name == 'ash' else ''}", site=f"Hall {name}", programme="north",
        contractor="first" if name == "ash" else "second", strategies=("scheduling",), confidence=0.9,
        baseline_first="2023-01-01", baseline_last="2023-12-31", reporting_first="2024-03-01",
        reporting_last="2025-02-28", avoided_kwh=Estimate(saved, 0.9 * saved, 1.1 * saved, 0.9),
        annual_kwh=Estimate(saved, 0.9 * saved, 1.1 * saved, 0.9), peak_kw=None,
        predicted_annual_kwh=40_000.0, predicted_peak_kw=None,
        realisation_rate=Estimate(saved / 4e4, 0.9 * saved / 4e4, 1.1 * saved / 4e4, 0.9),
        bill_savings=None, currency="USD", accepted=accepted, why_not=() if accepted else ("too uncertain",),
        settings_kept=2, settings_moved=1, settings_unknown=0, meters=(),
        findings=(FindingRecord("hall", f"burns all night in {name}", "2024-05-01",
                                Estimate(saved / 100, 0.0, saved / 50, 0.9), saved / 500, "Look at it."),),
        metering=(), residuals_kwh={},
    )  # fmt: skip


@pytest.fixture(scope="module")
def portfolio_address(
    invented: Any, served: Callable[[Any], str], tmp_path_factory: pytest.TempPathFactory
) -> str:
    """A portfolio of three invented studies, one of them broken; the others hold a real result."""
    from dashboards import create_app
    from mv.programme.run import write_portfolio

    root = tmp_path_factory.mktemp("portfolio")
    verification = invented.invented_verification()
    outcomes: list[Any] = []
    for name, saved in (("ash", 10_000.0), ("beech", 30_000.0)):
        folder = root / "of" / name
        folder.mkdir(parents=True)
        (folder / "study.toml").write_text("", encoding="utf-8")
        save(verification, root / "out" / "studies" / name)
        outcomes.append(record(name, folder / "study.toml", saved=saved, accepted=name == "ash"))
    outcomes.append(BrokenStudy("cedar", str(root / "of" / "cedar"), "the meter file is not there"))
    write_portfolio(root / "out", outcomes, 3)
    return served(create_app(root / "out"))


def test_the_portfolios_page_is_silent_selfcontained_accessible_and_fits(
    open_dashboard: Callable[..., Any], portfolio_address: str, axe: str
) -> None:
    dashboard = open_dashboard(portfolio_address).open()
    assert dashboard.heading_levels()[0] == 1
    assert HOSTILE in dashboard.text()
    for width in ("desk", "hand"):
        dashboard.resize(width)
        assert dashboard.overhang() <= 0
        assert dashboard.accessibility_findings(axe) == []
    dashboard.darken()
    assert dashboard.accessibility_findings(axe) == []
    assert dashboard.said == []
    assert dashboard.outside_requests() == []


def test_studies_are_ordered_narrowed_and_found_by_words(
    open_dashboard: Callable[..., Any], portfolio_address: str
) -> None:
    dashboard = open_dashboard(portfolio_address).open()
    names = dashboard.page.locator("#studies-table tbody th")
    dashboard.choose("Order", "most saved")
    assert [text.split()[1] for text in names.all_inner_texts()[:2]] == ["beech", "ash"]
    dashboard.choose("Show", "not accepted (1)")
    assert names.count() == 1
    assert "too uncertain" in dashboard.text()
    dashboard.choose("Show", "all")
    dashboard.page.get_by_label("Only those whose title").fill("hall ash")
    dashboard.until("document.querySelectorAll('#studies-table tbody th').length === 1")
    assert "Retrofit ash" in names.inner_text()


def test_a_study_opens_with_its_own_pages_and_leads_back(
    open_dashboard: Callable[..., Any], portfolio_address: str, axe: str
) -> None:
    dashboard = open_dashboard(portfolio_address).open()
    dashboard.page.locator("#studies-table").get_by_role("link", name="Retrofit beech").click()
    dashboard.page.wait_for_url("**/study/beech/")
    dashboard.settled()
    dashboard.go_to("Energy")
    assert dashboard.page.url.endswith("/study/beech/energy")
    assert dashboard.drawings().count() > 0
    assert dashboard.accessibility_findings(axe) == []
    dashboard.page.get_by_role("link", name="All studies").click()
    dashboard.page.wait_for_url("**/?portfolio")
    dashboard.settled()
    assert "of 3 studies stand" in dashboard.text()
    assert dashboard.said == []
    assert dashboard.outside_requests() == []


def test_a_study_that_is_not_there_is_said_so(
    open_dashboard: Callable[..., Any], portfolio_address: str
) -> None:
    for where in ("study/absent/", "study/..%2fof/", "nowhere"):
        dashboard = open_dashboard(portfolio_address).open(where)
        assert "no such page" in dashboard.text()
