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
STEADY = 0.05  # cumulative layout shift; web.dev, "Cumulative Layout Shift (CLS)", calls up to 0.1 good
SHOW_THE_HOSTILE_NAME = ("/", "/settings?zone=hall", "/data", "/method")


@pytest.mark.parametrize("where", ADDRESSES)
def test_a_page_is_silent_selfcontained_accessible_and_fits(
    open_dashboard: Callable[..., Any], address: str, where: str, axe: str, invented: Any
) -> None:
    """One load of each page, looked at from a desk, in the hand, and in the hand at night."""
    dashboard = open_dashboard(address).open(where)
    levels = dashboard.heading_levels()
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels)), levels
    assert dashboard.page.locator("img").count() == 0
    assert (invented.HOSTILE in dashboard.text()) == (where in SHOW_THE_HOSTILE_NAME)
    assert dashboard.overhang() <= 0
    assert dashboard.accessibility_findings(axe) == []
    dashboard.resize("hand")
    assert dashboard.overhang() <= 0
    assert dashboard.accessibility_findings(axe) == []
    dashboard.darken()
    assert dashboard.accessibility_findings(axe) == []
    assert dashboard.said == []
    assert dashboard.outside_requests() == []


@pytest.mark.parametrize(
    "where", ("/", "/month", "/energy", "/energy?meter=LP-1", "/settings?zone=hall", "/data")
)
def test_nothing_moves_under_a_readers_hand_when_the_drawings_come(
    open_dashboard: Callable[..., Any], address: str, where: str, width: str
) -> None:
    dashboard = open_dashboard(address, width=width).open(where)
    assert dashboard.moved() < STEADY


def test_the_page_says_its_language(open_dashboard: Callable[..., Any], address: str) -> None:
    dashboard = open_dashboard(address).open("/nowhere")
    assert dashboard.page.locator("html").get_attribute("lang") == "en"
