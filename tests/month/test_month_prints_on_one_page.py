"""What a month prints: one sheet of A4 and of Letter, whatever was found, with what matters on it."""

import io
import re
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader

from mv.base.study_records import Event
from mv.base.verification import Verification
from mv.documents.month_page import month_page

FINDINGS = 9
LONG = "Storey three of the eastern wing, the side that looks at the yard and the loading doors"
SENTENCE = (
    "the level went from a share of the connected load to another, higher one, and has stayed there ever "
)
CHECK = "Ask the people who work there what they have seen, when it began, and who was last at the controls."


def finding(number: int) -> dict[str, Any]:
    """One whose every text is long; the costliest is the last, the first cannot be told."""
    kwh = {"estimate": 100.0 * number, "low": 80.0 * number, "high": 120.0 * number, "confidence": 0.9}
    return {
        "where": f"{LONG} {number}", "what": f"{SENTENCE}{number}", "kind": "step", "since": "2024-10-02",
        "until": None, "zones": [], "settings": [], "kwh_per_month": kwh if number else None,
        "cost_per_month": 14.0 * number, "likely_causes": [SENTENCE] * 4, "check_first": [CHECK] * 4,
    }  # fmt: skip


@pytest.fixture(scope="module")
def crowded(verification: Verification) -> Verification:
    """A month in which everything is long and much has happened: December 2024, of six weeks."""
    result = dict(verification.result)
    savings = dict(result["savings"])
    savings["monthly"] = [
        {**row, "modelled_days": 14, "meters_missing": 2, "actual_kwh": row["actual_kwh"] + 90.0}
        for row in savings["monthly"]
    ]
    zero = "The avoided energy cannot be told from zero: its interval holds zero."
    seen = result["drift"][0]  # so that there is something to draw
    result |= {
        "savings": savings,
        "drift": [
            finding(number) | {name: seen[name] for name in ("id", "zones")} for number in range(FINDINGS)
        ],
        "cautions": [zero, *result["cautions"]],
    }
    head = {**result["study"]["study"], "title": f"{LONG}. {LONG}."}
    result["study"] = {**result["study"], "study": head, "site": {**result["study"]["site"], "name": LONG}}
    events = [Event(first=f"2024-12-{day:02d}", last=f"2024-12-{day + 1:02d}", treatment="set aside",
                    reason=SENTENCE) for day in (3, 9, 16)]  # fmt: skip
    study = verification.study.model_copy(update={"event": tuple(events)})
    return replace(verification, study=study, result=result)


def printed(browser: Any, html: str, paper: str) -> PdfReader:
    page = browser.new_page()
    page.set_content(html)
    data = page.pdf(format=paper)
    page.close()
    return PdfReader(io.BytesIO(data))


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_crowded_month_prints_on_one_sheet_and_says_what_it_leaves_out(
    browser: Any, crowded: Verification, paper: str
) -> None:
    html, _ = month_page(crowded, "2024-12", {})
    (sheet,) = printed(browser, html, paper).pages
    words = re.sub(r"\s+", " ", sheet.extract_text())
    assert "Saved since hand-over" in words and "promised" in words
    assert "The costliest 3 of 9 findings. 6 more" in words
    assert "1 whose kWh cannot be told" in words
    assert "licensed electrician" in words and "Egress" in words and "Confidence of intervals" in words


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_findings_in_few_words_are_printed_with_their_pictures(
    browser: Any, crowded: Verification, paper: str
) -> None:
    """Three findings and two of them told at some length; nothing else out of the ordinary."""
    brief = {
        "where": "hall", "what": "lamps that fell with the sun have burnt alike since 2024-10-02",
        "likely_causes": ["daylight sensor covered, failed or switched off", "high trim removed or raised"],
        "check_first": ["Look for tape or dirt on the daylight sensor and for its setting; ask."] * 2,
    }  # fmt: skip
    drift = [row | brief for row in crowded.result["drift"]]
    study = crowded.study.model_copy(update={"event": ()})
    ordinary = replace(crowded, study=study, result={**crowded.result, "drift": drift})
    html, _ = month_page(ordinary, "2024-12", {})
    assert html.count('<div class="paper-only"><svg') == 3
    assert len(printed(browser, html, paper).pages) == 1


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_an_ordinary_month_prints_on_one_sheet(browser: Any, verification: Verification, paper: str) -> None:
    html, _ = month_page(verification, "2025-02", {})
    assert len(printed(browser, html, paper).pages) == 1


def test_the_screen_has_every_finding_the_costliest_first(crowded: Verification) -> None:
    html, text = month_page(crowded, "2024-12", {})
    places = [html.index(f"this month {wanted}") for wanted in _amounts(html)]
    assert len(places) == FINDINGS - 1 and places == sorted(places)
    assert html.count("its kWh cannot be told") == 1
    assert html.index("its kWh cannot be told") > places[-1]
    assert len(text.splitlines()) <= 40 and max(map(len, text.splitlines())) <= 80
    assert "5 findings more" in text


def _amounts(html: str) -> list[str]:
    """The findings' amounts from the largest to the smallest."""
    found = re.findall(r"this month ([\d,.]+\s?kWh \()", html)
    return sorted(found, key=lambda words: -float(re.sub(r"[^\d.]", "", words)))
