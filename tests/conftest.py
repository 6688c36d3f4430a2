"""Shared fixtures: where the open measured data lie, and one real browser for all who look at pages."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
CHROMIUM = Path(os.environ.get("TALLYLUX_CHROMIUM", "/usr/bin/chromium"))
AXE_PLACES = (
    os.environ.get("TALLYLUX_AXE", ""),
    str(ROOT / ".ci" / "node_modules" / "axe-core" / "axe.min.js"),
)
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-quic",
    "--no-first-run",
)


def _absent(what: str) -> None:
    """In continuous integration an absent tool is a failure, elsewhere a reason to skip."""
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(what)
    pytest.skip(what)


@pytest.fixture(scope="session")
def datasets() -> Path:
    """The folder of open measured data, beside the project; tests skip where it is absent."""
    folder = ROOT.parent / "shared" / "datasets"
    if not folder.is_dir():
        pytest.skip(f"open measured data are not at {folder}")
    return folder


@pytest.fixture(scope="session")
def sample_folder() -> Path:
    """The invented sample study that ships with the project."""
    return ROOT / "sample_meter_data"


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Headless Chromium."""
    from playwright.sync_api import sync_playwright

    if not CHROMIUM.exists():
        _absent(f"no browser at {CHROMIUM}")
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=str(CHROMIUM), args=list(FLAGS))
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def axe() -> str:
    """The accessibility checker's source."""
    for place in AXE_PLACES:
        if place and Path(place).is_file():
            return Path(place).read_text(encoding="utf-8")
    _absent("axe-core is not installed (TALLYLUX_AXE, or .ci/node_modules)")
    raise AssertionError
