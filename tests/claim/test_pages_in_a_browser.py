"""The pages in a real browser: no serious finding of axe, no sideways scroll, nothing fetched or run."""

import io
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from mv.cli import main

ROOT = Path(__file__).resolve().parents[2]
WIDTHS = (375, 1280)


@pytest.fixture(scope="module")
def pages(made: Any, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The three pages of the hostile study."""
    out = tmp_path_factory.mktemp("month")
    main(["month", str(made.study), "--month", "2024-07", "--out", str(out)])
    return {
        "report": made.folder / "report.html",
        "proof": made.folder / "proof.html",
        "month": out / "month-2024-07.html",
    }


@pytest.mark.browser
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["report", "proof", "month"])
def test_a_page_is_quiet_fits_its_width_and_fetches_nothing(
    browser: Any, pages: dict[str, Path], name: str, width: int
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900})
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(pages[name].as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert said == []
    assert asked == [pages[name].as_uri()]
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("name", ["report", "proof", "month"])
def test_a_page_has_no_serious_accessibility_finding(
    browser: Any, pages: dict[str, Path], axe: str, name: str
) -> None:
    context = browser.new_context(bypass_csp=True, viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(pages[name].as_uri())
    page.evaluate(axe)
    found = page.evaluate("axe.run()")["violations"]
    serious = [
        f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found if v["impact"] in ("serious", "critical")
    ]
    assert serious == []
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_clients_page_prints_on_one_sheet(browser: Any, pages: dict[str, Path], paper: str) -> None:
    page = browser.new_page()
    page.goto(pages["proof"].as_uri())
    sheets = PdfReader(io.BytesIO(page.pdf(format=paper))).pages
    page.close()
    assert len(sheets) == 1
    words = " ".join(sheets[0].extract_text().split())
    assert "Opening panels" in words and "not a warranty" in words


@pytest.mark.browser
def test_titles_of_wide_tables_stay_in_view_on_a_narrow_screen(browser: Any, pages: dict[str, Path]) -> None:
    page = browser.new_page(viewport={"width": 375, "height": 800})
    page.goto(pages["report"].as_uri())
    ends = page.evaluate(
        """[...document.querySelectorAll('.wide')].flatMap(table => {
            table.scrollLeft = 120;
            const title = table.querySelector('caption').getBoundingClientRect();
            return [title.left, title.right];
        })"""
    )
    page.close()
    assert ends and min(ends) >= 0 and max(ends) <= 375
