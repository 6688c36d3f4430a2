"""The frame around every page: skip link, header with the pages' names, content, foot."""

from dataclasses import asdict

from dash import dcc, html

from dashboards.blocks.aria import aria
from dashboards.running import run_room
from mv.base.verification import Verification
from mv.figures import DARK, LIGHT, Palette, listed
from mv.latest import changed_since

NAME = "Tallylux"
MOST_NAMED = 3  # changed files named in one line
HAVE_A_ROOM = ("/method",)  # pages that offer to verify again in any case


def frame() -> html.Div:
    """The empty frame; the router fills `pages` and `content`."""
    return html.Div(
        [
            dcc.Location(id="place"),
            dcc.Store(id="scheme"),
            html.A("Skip to the content", href="#content", className="skip"),
            html.Header(id="masthead", className="masthead"),
            html.Main(id="content", tabIndex="-1"),
            html.Div(id="announcer", className="unseen", role="status"),
        ],
        id="frame",
    )


def masthead(pages: list[tuple[str, str]], current: str, title: str, site: str) -> list[html.Div | html.Nav]:
    """Mark, study and the pages' names; the current one is marked for eye and ear alike."""
    strokes = html.Span([html.Span() for _ in range(5)], className="tally", **aria(hidden="true"))
    links = [
        html.Li(dcc.Link(name, href=href, className="page"))
        if href != current
        else html.Li(html.A(name, href=href, className="page here", **aria(current="page")))
        for name, href in pages
    ]
    study = html.Div(
        [html.Span(title, className="study"), html.Span(site, className="site")], className="whose"
    )
    return [
        html.Div([strokes, html.Span(NAME, className="wordmark"), study], className="mark"),
        html.Nav(html.Ul(links), className="pages", **aria(label="Pages")),
    ]


def changed_note(verification: Verification, address: str = "") -> html.Div | None:
    """A line for when an input is no longer the one that the result was made from, with the way out."""
    changed = changed_since(verification)
    if not changed:
        return None
    what = listed(changed[:MOST_NAMED])
    more = f" and {len(changed) - MOST_NAMED} more" if len(changed) > MOST_NAMED else ""
    verb = "has" if len(changed) == 1 else "have"
    told = html.P(f"{what}{more} {verb} changed since this result was made: what is shown here is older.")
    room = None if address in HAVE_A_ROOM else run_room("Verify again")
    return html.Div([told, room], className="older", role="status")


def index_page() -> str:
    """The HTML page that carries the app; its colours come from the figures' palette."""
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
{{%metas%}}
<meta name="color-scheme" content="light dark">
<title>{{%title%}}</title>
<link rel="icon" href="/assets/tally.svg" type="image/svg+xml">
<style>
:root {{ {_properties(LIGHT)} }}
@media (prefers-color-scheme: dark) {{ :root {{ {_properties(DARK)} }} }}
@media print {{ :root {{ {_properties(LIGHT)} }} }}
</style>
{{%css%}}
</head>
<body>
{{%app_entry%}}
{{%config%}}
{{%scripts%}}
{{%renderer%}}
</body>
</html>"""


def _properties(colours: Palette) -> str:
    return " ".join(f"--{name}: {value};" for name, value in asdict(colours).items())
