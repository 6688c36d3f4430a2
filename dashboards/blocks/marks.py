"""A verdict as a mark and a word, never as a colour alone."""

from collections.abc import Mapping
from typing import Any

from dash import dcc, html

from dashboards.blocks.aria import aria, data
from dashboards.blocks.tables import table
from dashboards.choice import Choice
from mv.figures import rows, setting_words

SIGNS = {"kept": "●", "moved": "▲", "cannot tell": "○"}


def verdict_mark(verdict: str) -> html.Span:
    """The mark and the word."""
    sign = html.Span(SIGNS.get(verdict, "○"), className="sign", **aria(hidden="true"))
    return html.Span([sign, f" {verdict}"], className=f"verdict {verdict.replace(' ', '-')}")


def test_mark(passed: Any) -> html.Span:
    """Whether an acceptance test is met."""
    sign, word = {True: ("●", "met"), False: ("▲", "not met")}.get(passed, ("○", "not judged"))
    kind = {True: "kept", False: "moved"}.get(passed, "cannot-tell")
    return html.Span(
        [html.Span(sign, className="sign", **aria(hidden="true")), f" {word}"],
        className=f"verdict {kind}",
    )


def handover_board(result: Mapping[str, Any]) -> html.Div | None:
    """Zones down, settings across: what became of each thing agreed at hand-over."""
    found = rows(result, "settings")
    if not found:
        return None
    zones = list(dict.fromkeys(str(row.get("zone")) for row in found))
    settings = list(dict.fromkeys(str(row.get("setting")) for row in found))
    verdicts = {(row.get("zone"), row.get("setting")): str(row.get("verdict")) for row in found}
    names = {setting: setting_words(setting).name for setting in settings}
    body = [
        [
            dcc.Link(zone, href=f"/settings{Choice(zone=zone).query()}"),
            *(_cell(verdicts.get((zone, setting)), names[setting]) for setting in settings),
            _kept_count([verdicts.get((zone, setting)) for setting in settings]),
        ]
        for zone in zones
    ]
    caption = "What was agreed at hand-over, and what became of it"
    heads = ["zone", *names.values(), "kept"]
    last = [len(heads) - 1]
    return table(heads, body, caption=caption, stacked=True, kind="board", only_narrow=last)


def _cell(verdict: str | None, name: str) -> html.Td:
    """One setting of one zone; on a narrow screen only what is not kept is shown."""
    quiet = "quiet" if verdict in (None, "kept") else ""
    shown = verdict_mark(verdict) if verdict else html.Span("–", title="not agreed", className="muted")
    return html.Td(shown, className=quiet, role="cell", **data(head=name))


def _kept_count(verdicts: list[str | None]) -> html.Td:
    agreed = [verdict for verdict in verdicts if verdict]
    kept = sum(verdict == "kept" for verdict in agreed)
    return html.Td(f"{kept} of {len(agreed)}", className="narrow", role="cell", **data(head="kept"))
