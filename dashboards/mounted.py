"""A study's own dashboard under an address of the portfolio's: its pages believe they stand at the root.

The addresses in what the page asks and is told are moved: `/study/NAME/energy` outside is `/energy` inside.
"""

import io
import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable
from typing import Any

from dash import Dash, html

from dashboards.blocks.aria import aria
from dashboards.shell import frame

Environment = dict[str, Any]
StartResponse = Callable[..., Any]
WsgiApp = Callable[[Environment, StartResponse], Iterable[bytes]]

ROOT = "/study/"
BACK = "/?portfolio"
MOST_OPEN = 12  # studies whose dashboards are kept at hand; others are opened again when asked for
# Quotes within texts are escaped in JSON, so that no text of a study can look like an address; so may / be.
MOVED = re.compile(rb'("(?:href|pathname)":\s?)"(?:/|\\u002f)(?!\?portfolio)')


def prefix_of(name: str) -> str:
    """Where a browser finds the study's dashboard."""
    return f"{ROOT}{name}/"


class Mounted:
    """The portfolio's WSGI app, and under ROOT the studies' own, opened when first asked for.

    `opened(name)` gives a study's app with the prefix of `prefix_of`, or None where there is no such study.
    """

    def __init__(self, portfolio: WsgiApp, opened: Callable[[str], Dash | None]) -> None:
        self._portfolio, self._opened = portfolio, opened
        self._lock = threading.Lock()
        self._apps: OrderedDict[str, WsgiApp] = OrderedDict()

    def __call__(self, environ: Environment, start_response: StartResponse) -> Iterable[bytes]:
        """One request."""
        path = str(environ.get("PATH_INFO", ""))
        name, slash, rest = path.removeprefix(ROOT).partition("/")
        app = self._app(name) if path.startswith(ROOT) and slash else None
        if app is None:
            return self._portfolio(environ, start_response)
        inside = {**environ, "SCRIPT_NAME": environ.get("SCRIPT_NAME", "") + prefix_of(name)[:-1]}
        inside["PATH_INFO"] = f"/{rest}"
        if not rest.startswith(("_dash-update-component", "_dash-layout")):
            return app(inside, start_response)
        return _moved(app, _asked(inside, prefix_of(name)), start_response, prefix_of(name))

    def _app(self, name: str) -> WsgiApp | None:
        with self._lock:
            if name not in self._apps:
                app = self._opened(name)
                if app is None:
                    return None
                app.layout = _framed
                self._apps[name] = app.server.wsgi_app
                if len(self._apps) > MOST_OPEN:
                    self._apps.popitem(last=False)
            self._apps.move_to_end(name)
            return self._apps[name]


def _framed() -> html.Div:
    """The study's frame with the way back to the portfolio."""
    whole = frame()
    back = html.Nav(html.A("← All studies", href=BACK), className="way-back", **aria(label="Portfolio"))
    place = next(n for n, child in enumerate(whole.children) if isinstance(child, html.Header))
    whole.children.insert(place, back)  # the link that skips to the content stays the first
    return whole


def _asked(environ: Environment, prefix: str) -> Environment:
    """The request with the browser's address as the study's pages know it."""
    length = int(environ.get("CONTENT_LENGTH") or 0)
    if not length:
        return environ
    body = environ["wsgi.input"].read(length).replace(f'"{prefix}'.encode(), b'"/')
    return {**environ, "wsgi.input": io.BytesIO(body), "CONTENT_LENGTH": str(len(body))}


def _moved(app: WsgiApp, environ: Environment, start_response: StartResponse, prefix: str) -> Iterable[bytes]:
    """The answer with the study's addresses as the browser knows them."""
    begun: list[Any] = []

    def remember(status: str, headers: list[tuple[str, str]], _error: Any = None) -> None:
        begun[:] = [status, headers]

    answer = app(environ, remember)
    try:
        body = MOVED.sub(rb'\1"' + prefix.encode(), b"".join(answer))
    finally:
        getattr(answer, "close", lambda: None)()
    headers = [(key, value) for key, value in begun[1] if key.lower() != "content-length"]
    start_response(begun[0], [*headers, ("Content-Length", str(len(body)))])
    return [body]
