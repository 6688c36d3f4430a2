"""The dashboard of a portfolio: one page over all studies, and each study's own pages under it."""

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from dash import Dash, Input, Output, State, no_update
from flask import Response, abort, send_file

from dashboards.mounted import Mounted, prefix_of
from dashboards.pages import absent, portfolio
from dashboards.pages.portfolio import View
from dashboards.router import connect_browser
from dashboards.shell import NAME, masthead
from mv.base.errors import TallyluxError
from mv.programme.store import (
    METERS_FILE,
    STUDIES_FILE,
    SUMMARY_FILE,
    StoredPortfolio,
    is_portfolio,
    open_portfolio,
    study_folder,
)
from mv.study import STUDY_FILE

MakeStudyApp = Callable[..., Dash]
FILES = (SUMMARY_FILE, STUDIES_FILE, METERS_FILE)


class PortfolioShelf:
    """The opened portfolio, opened again when it has been written anew."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._stamp: object = None
        self._kept: StoredPortfolio | None = None

    def portfolio(self) -> StoredPortfolio:
        """The last portfolio. Raises TallyluxError where there is none that can be read."""
        with self._lock:
            stamp = [(p.stat().st_mtime_ns, p.stat().st_size) for p in self._files() if p.exists()]
            if self._kept is None or stamp != self._stamp:
                self._kept, self._stamp = open_portfolio(self.folder), stamp
            return self._kept

    def _files(self) -> list[Path]:
        return [self.folder / name for name in (SUMMARY_FILE, STUDIES_FILE)]


def holds_portfolio(path: Path) -> bool:
    """Whether the path is a portfolio's folder and no study's."""
    return path.is_dir() and not (path / STUDY_FILE).exists() and is_portfolio(path)


def portfolio_app(folder: Path, app: Dash, study_app: MakeStudyApp) -> Dash:
    """Fill the blank `app` with the portfolio in `folder`; `study_app` makes a study's own dashboard."""
    shelf = PortfolioShelf(folder.resolve())
    connect_browser(app)
    _connect_page(app, shelf)
    _offer_files(app, shelf)

    def opened(name: str) -> Dash | None:
        results = study_folder(shelf.folder, name)
        if results is None:
            return None
        rows = shelf.portfolio().studies
        paths = rows.loc[rows["study"] == name, "path"]
        return study_app(paths.iloc[0], results=results, prefix=prefix_of(name)) if len(paths) else None

    app.server.wsgi_app = Mounted(app.server.wsgi_app, opened)  # type: ignore[method-assign]
    return app


def _connect_page(app: Dash, shelf: PortfolioShelf) -> None:
    @app.callback(
        Output("masthead", "children"),
        Output("content", "children"),
        Input("place", "pathname"),
        Input("place", "search"),
    )
    def show(pathname: str | None, search: str | None) -> Any:
        head = masthead([("Portfolio", "/")], "/", "Portfolio", shelf.folder.name)
        if (pathname or "/") != "/":
            return head, absent.unknown(str(pathname))
        try:
            return head, portfolio.page(shelf.portfolio(), View.read(search))
        except TallyluxError as error:
            return masthead([], "/", NAME, str(shelf.folder)), portfolio.unreadable(error)

    @app.callback(
        Output(portfolio.TABLE, "children"),
        Input(portfolio.WORDS, "value"),
        State("place", "search"),
        prevent_initial_call=True,
    )
    def narrow(words: str | None, search: str | None) -> Any:
        try:
            return portfolio.studies_table(shelf.portfolio(), View.read(search), words or "")
        except TallyluxError:
            return no_update


def _offer_files(app: Dash, shelf: PortfolioShelf) -> None:
    @app.server.get("/download/<name>")
    def download(name: str) -> Response:
        if name not in FILES or not (shelf.folder / name).is_file():
            abort(404)
        return send_file(shelf.folder / name, as_attachment=True, download_name=name)
