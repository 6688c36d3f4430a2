"""Every page, at a desk's and a hand's width: silent, self-contained, within the window, accessible."""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest

pytestmark = pytest.mark.browser
ADDRESSES = (
    "/",
    "/month",
    "/energy",
    "/energy?meter=LP-1",
    "/settings?zone=hall",
    "/data",
    "/method",
    "/nowhere",
)


@pytest.mark.parametrize("where", ADDRESSES)
def test_a_page_is_silent_selfcontained_accessible_and_fits(
    open_dashboard: Callable[..., Any], address: str, where: str, axe: str
) -> None:
    """One load of each page, looked at from a desk, in the hand, and in the hand at night."""
    dashboard = open_dashboard(address).open(where)
    assert dashboard.overhang() <= 0
    assert dashboard.accessibility_findings(axe) == []
    dashboard.resize("hand")
    assert dashboard.overhang() <= 0
    assert dashboard.accessibility_findings(axe) == []
    dashboard.darken()
    assert dashboard.accessibility_findings(axe) == []
    assert dashboard.said == []
    assert dashboard.outside_requests() == []


def test_headings_never_skip_a_level(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address)
    for where in ADDRESSES:
        dashboard.open(where)
        levels = [
            int(tag[1])
            for tag in dashboard.page.locator("h1, h2, h3, h4").evaluate_all("e => e.map(x => x.tagName)")
        ]
        assert levels[0] == 1, where
        assert all(after <= before + 1 for before, after in pairwise(levels)), (
            where,
            levels,
        )


def test_a_hostile_name_is_shown_and_not_obeyed(
    open_dashboard: Callable[..., Any], address: str, invented: Any
) -> None:
    dashboard = open_dashboard(address)
    for where in ("/", "/settings", "/data", "/method"):
        dashboard.open(where)
        assert invented.HOSTILE in dashboard.text()
        assert dashboard.page.locator("img").count() == 0
    assert dashboard.said == []


def test_the_page_says_its_language(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address).open("/")
    assert dashboard.page.locator("html").get_attribute("lang") == "en"
