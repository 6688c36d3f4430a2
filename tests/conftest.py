"""Shared fixtures: where the open measured data lie."""

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


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
