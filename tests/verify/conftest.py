"""One verification of the sample study, shared by the tests that read it."""

import json
from pathlib import Path
from typing import Any

import pytest

from mv.base.verification import Verification
from mv.verify import verify_study


@pytest.fixture(scope="session")
def sample(sample_folder: Path) -> Verification:
    """The sample study, verified."""
    return verify_study(sample_folder)


@pytest.fixture(scope="session")
def truth(sample_folder: Path) -> dict[str, Any]:
    """What the simulator knows of the sample site."""
    return dict(json.loads((sample_folder / "truth.json").read_text(encoding="utf-8")))
