"""The invented verification, made once."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from mv.base.verification import Verification


def _module(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def invented() -> ModuleType:
    """The module that invents a verification."""
    return _module(Path(__file__).with_name("invented_verification.py"))


@pytest.fixture(scope="session")
def verification(invented: ModuleType) -> Verification:
    """One invented verification."""
    return invented.invented_verification()
