"""Settings by zone, and what has changed since hand-over."""

from collections.abc import Mapping
from typing import Any

from dash import html

from dashboards.blocks.cards import card, chooser
from dashboards.blocks.findings import findings_list
from dashboards.blocks.marks import verdict_mark
from dashboards.blocks.notes import cautions
from dashboards.blocks.tables import table
from dashboards.choice import Choice
from mv.base.verification import Verification
from mv.figures import (
    Scheme,
    rows,
    seen_value,
    setting_value,
    setting_words,
)

ADDRESS = "/settings"
EVERY_ZONE = "*"


def page(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """Findings first, then the settings of a choice of zones, each with its months."""
    result = verification.result
    found = rows(result, "settings")
    zones = list(dict.fromkeys(str(row.get("zone")) for row in found))
    if choice.zone not in (*zones, EVERY_ZONE):
        choice = choice.but(zone="")
    chosen = [row for row in found if _is_chosen(row, choice.zone)]
    return [
        html.H1("Settings since hand-over"),
        cautions(result),
        html.H2("What has changed"),
        findings_list(verification, scheme),
        html.H2("What was agreed at hand-over"),
        *(_settings(verification, chosen, zones, choice, scheme) if found else [_none()]),
        *_also_seen(
            [row for row in rows(result, "settings_observed") if choice.zone in (row["zone"], EVERY_ZONE)]
        ),
    ]


def _is_chosen(row: Mapping[str, Any], zone: str) -> bool:
    if zone == EVERY_ZONE:
        return True
    return row.get("zone") == zone if zone else row.get("verdict") != "kept"


def _none() -> html.P:
    return html.P("The study names no agreed settings.", className="cannot")


def _settings(
    verification: Verification,
    chosen: list[Mapping[str, Any]],
    zones: list[str],
    choice: Choice,
    scheme: Scheme,
) -> list[Any]:
    links = [("those not kept", ADDRESS, not choice.zone)]
    links += [(zone, f"{ADDRESS}{Choice(zone=zone).query()}", zone == choice.zone) for zone in zones]
    links += [("every zone", f"{ADDRESS}{Choice(zone=EVERY_ZONE).query()}", choice.zone == EVERY_ZONE)]
    drawn = [] if choice.zone == EVERY_ZONE else chosen
    return [
        chooser("Zone", links),
        _settings_table(chosen) if chosen else html.P("Every agreed setting was kept."),
        html.H3("Month by month") if drawn else None,
        html.Div([_history(verification, row, scheme) for row in drawn], className="cards"),
    ]


def _also_seen(found: list[Mapping[str, Any]]) -> list[Any]:
    """What the latest month shows of settings that nobody agreed on."""
    if not found:
        return []
    heads = ["zone", "setting", "seen now", "why"]
    body = [
        [
            str(row["zone"]),
            setting_words(str(row["setting"]), row.get("unit")).name,
            seen_value(row),
            str(row.get("why") or ""),
        ]
        for row in found
    ]
    shown = table(heads, body, caption="What the latest month shows", stacked=True)
    return [html.H2("Also seen, though nothing was agreed on it"), shown]


def _history(verification: Verification, row: Mapping[str, Any], scheme: Scheme) -> Any:
    choice = Choice(zone=str(row["zone"]), setting=str(row["setting"]))
    return card("setting", verification, choice, scheme)


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
