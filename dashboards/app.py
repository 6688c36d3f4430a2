"""Makes the app: one study or one portfolio, no state outside the app, nothing fetched from elsewhere."""

from pathlib import Path

from dash import Dash
from flask import Response

from dashboards.background import BackgroundRun, Command
from dashboards.downloads import offer
from dashboards.portfolio_app import holds_portfolio, portfolio_app
from dashboards.router import connect
from dashboards.setup.uploads import LARGEST_REQUEST_BYTES
from dashboards.shelf import Opener, Shelf
from dashboards.shell import NAME, frame, index_page
from mv import worker


def create_app(
    path: Path | str,
    *,
    results: Path | None = None,
    opener: Opener | None = None,
    verify: Command | None = None,
    prefix: str = "/",
) -> Dash:
    """The dashboard of the study at `path`, or of the portfolio whose folder that is.

    `results` is where its verification is kept (beside the study by default). `opener` replaces how it
    is opened, `verify` the command that makes it. `prefix` is where a browser finds the app.
    """
    if results is None and opener is None and holds_portfolio(Path(path)):
        return portfolio_app(Path(path), blank_app(), create_app)
    shelf = Shelf(Path(path), results=results, opener=opener)
    app = blank_app(prefix)
    verify = verify or (lambda: worker.command(worker.VERIFY, path, shelf.results))
    check = BackgroundRun(lambda: worker.command(worker.CHECK, path))
    connect(app, shelf, BackgroundRun(verify), check)
    offer(app.server, shelf)
    return app


def blank_app(prefix: str = "/") -> Dash:
    """An app with our frame and headers, and no page yet; a browser finds it under `prefix`."""
    app = Dash(
        __name__,
        routes_pathname_prefix="/",
        requests_pathname_prefix=prefix,
        title=NAME,
        update_title=None,
        serve_locally=True,
        suppress_callback_exceptions=True,
        index_string=index_page(),
        assets_folder=str(Path(__file__).parent / "assets"),
        add_log_handler=False,
    )
    app.server.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST_BYTES
    app.layout = frame
    _guard_headers(app)
    return app


def _guard_headers(app: Dash) -> None:
    """No page of ours runs a script, or loads anything, that is not ours."""
    policy: list[str] = []

    @app.server.after_request
    def add_headers(answer: Response) -> Response:
        if not policy:
            policy.append(_content_policy(app))
        answer.headers.setdefault("Content-Security-Policy", policy[0])
        answer.headers.setdefault("X-Content-Type-Options", "nosniff")
        answer.headers.setdefault("X-Frame-Options", "DENY")
        answer.headers.setdefault("Referrer-Policy", "no-referrer")
        return answer


def _content_policy(app: Dash) -> str:
    scripts = " ".join(f"'{digest}'" if not digest.startswith("'") else digest for digest in app.csp_hashes())
    return (
        f"default-src 'none'; script-src 'self' {scripts}; style-src 'self' 'unsafe-inline'; "
        "img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    )
