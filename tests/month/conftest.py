"""One small study, verified once, for every test of the month."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from mv import store
from mv.base.verification import Verification
from mv.verify import verify_study


@pytest.fixture(scope="session")
def small() -> ModuleType:
    """The module that writes the small study."""
    path = Path(__file__).parents[1] / "claim" / "small_study.py"
    spec = importlib.util.spec_from_file_location("small_study", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def verified(small: ModuleType, sample_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the small study, its results stored beside it."""
    path = small.small_study(sample_folder, tmp_path_factory.mktemp("month"))
    store.save(verify_study(path), store.results_folder(path))
    return path.parent


@pytest.fixture(scope="session")
def verification(verified: Path) -> Verification:
    """The small study's verification."""
    return store.open_results(verified)
