"""A real dashboard on a real port, and a real browser before it."""

import importlib.util
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def _module(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def invented() -> ModuleType:
    """The module that invents a verification."""
    return _module(ROOT / "tests" / "figures" / "invented_verification.py")


@pytest.fixture(scope="session")
def served() -> Iterator[Callable[[Any], str]]:
    """Serves an app on a free port of this computer; returns its address. Ends with the session."""
    import waitress

    from dashboards.server.compressing import Compressed
    from dashboards.server.gate import Gate

    servers = []

    def serve(app: Any) -> str:
        server = waitress.create_server(
            Gate(Compressed(app.server.wsgi_app)), host="127.0.0.1", port=0, threads=4
        )
        servers.append((server, threading.Thread(target=server.run, daemon=True)))
        servers[-1][1].start()
        return f"http://127.0.0.1:{server.effective_port}/"

    yield serve
    for server, thread in servers:
        server.close()
        thread.join(timeout=5)


@pytest.fixture(scope="session")
def address(invented: ModuleType, served: Callable[[Any], str], tmp_path_factory: Any) -> str:
    """The dashboard of the invented verification."""
    from dashboards import create_app

    record = invented.invented_verification()
    return served(create_app(tmp_path_factory.mktemp("study"), opener=lambda _path, _results: record))


@pytest.fixture(scope="session")
def window(browser: Any) -> Any:
    """One window for the session, so that the page's packages are fetched and compiled once."""
    return browser.new_context()


@pytest.fixture
def open_dashboard(window: Any) -> Iterator[Callable[..., Any]]:
    """Opens a dashboard in a new tab: `open_dashboard(address, width="hand", scheme="dark")`."""
    pages = _module(Path(__file__).with_name("dashboard_page.py"))
    tabs = []

    def open_one(address: str, *, width: str = "desk", scheme: str = "light") -> Any:
        tabs.append(window.new_page())
        tabs[-1].emulate_media(color_scheme=scheme)
        return pages.Dashboard(tabs[-1], address).resize(width)

    yield open_one
    for tab in tabs:
        tab.close()


@pytest.fixture(params=["desk", "hand"])
def width(request: pytest.FixtureRequest) -> str:
    """At a desk and in the hand."""
    return str(request.param)
