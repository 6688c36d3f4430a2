"""Settings by zone, and what has changed since hand-over."""

from collections.abc import Mapping
from typing import Any

from dash import html

from dashboards.cards import card, chooser
from dashboards.choice import Choice
from dashboards.findings import findings_list
from dashboards.marks import verdict_mark
from dashboards.notes import cautions
from dashboards.tables import table
from mv.base.verification import Verification
from mv.figures import (
    Scheme,
    rows,
    seen_value,
    setting_value,
    setting_words,
)

ADDRESS = "/settings"


def page(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """Findings first, then every setting, then its months."""
    result = verification.result
    found = rows(result, "settings")
    zones = list(dict.fromkeys(str(row.get("zone")) for row in found))
    if choice.zone not in zones:
        choice = choice.but(zone="")
    return [
        html.H1("Settings since hand-over"),
        cautions(result),
        html.H2("What has changed"),
        findings_list(verification),
        html.H2("Every agreed setting"),
        _settings_table(found)
        if found
        else html.P("The study names no agreed settings.", className="cannot"),
        html.H2("Month by month") if found else None,
        _zone_links(zones, choice) if found else None,
        html.Div(_histories(verification, found, choice, scheme), className="cards"),
    ]


def _settings_table(found: list[Mapping[str, Any]]) -> html.Div:
    heads = ["zone", "setting", "agreed", "seen now", "verdict", "since", "why"]
    body = [
        [
            str(row.get("zone")),
            setting_words(str(row.get("setting")), row.get("unit")).name,
            setting_value(str(row.get("setting")), row.get("commissioned"), row.get("unit")),
            seen_value(row),
            verdict_mark(str(row.get("verdict"))),
            str(row.get("since") or ""),
            str(row.get("why") or ""),
        ]
        for row in found
    ]
    return table(heads, body, caption="Agreed at hand-over against what the meters show", stacked=True)


def _zone_links(zones: list[str], choice: Choice) -> Any:
    links = [("those that moved", ADDRESS, not choice.zone)]
    links += [(zone, f"{ADDRESS}{Choice(zone=zone).query()}", zone == choice.zone) for zone in zones]
    return chooser("Zone", links)


def _histories(
    verification: Verification, found: list[Mapping[str, Any]], choice: Choice, scheme: Scheme
) -> list[Any]:
    chosen = [
        row
        for row in found
        if (row.get("zone") == choice.zone if choice.zone else row.get("verdict") == "moved")
    ]
    if not chosen:
        return [html.P("No setting has moved; choose a zone to see its months.", className="cannot")]
    return [
        card("setting", verification, Choice(zone=str(row["zone"]), setting=str(row["setting"])), scheme)
        for row in chosen
    ]
