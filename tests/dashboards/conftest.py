"""An app over the invented verification, and a client that asks it without a browser."""

import importlib.util
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest


@pytest.fixture(scope="session")
def invented() -> ModuleType:
    """The module that invents a verification."""
    path = Path(__file__).resolve().parents[1] / "figures" / "invented_verification.py"
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def verification(invented: ModuleType) -> Any:
    """One invented verification."""
    return invented.invented_verification()


@pytest.fixture
def app(verification: Any, tmp_path: Path) -> Any:
    """A fresh app over it."""
    from dashboards import create_app

    return create_app(tmp_path, results=tmp_path, opener=lambda _path, _results: verification)


@pytest.fixture
def client(app: Any) -> Any:
    """Asks the app's server directly."""
    return app.server.test_client()


@pytest.fixture
def asked() -> Callable[..., tuple[str, dict[str, str], bytes]]:
    """Calls a WSGI app once: `asked(app, path, **environ)` gives status, headers and body."""
    from werkzeug.test import Client

    def ask(wsgi: Any, path: str, **keywords: Any) -> tuple[str, dict[str, str], bytes]:
        answer = Client(wsgi).open(path, **keywords)
        return answer.status, {name.lower(): value for name, value in answer.headers.items()}, answer.data

    return ask
