"""Energy against expectation: by month, by day, by hour, reading by reading."""

from typing import Any

import pandas as pd
from dash import dcc, html

from dashboards.blocks.cards import card, chooser
from dashboards.blocks.peak_part import load_drops, peak_part, usage_groups
from dashboards.blocks.tables import table
from dashboards.choice import SPANS, Choice, shifted, window_from
from mv.base.verification import Verification
from mv.figures import Scheme, estimate, rows, with_interval

ADDRESS = "/energy"


def page(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """The site first; one meter's hours and readings where one is chosen."""
    meters = list(verification.meters)
    if len(meters) == 1 or choice.meter not in meters:
        choice = choice.but(meter=meters[0] if len(meters) == 1 else "")
    body = _one_meter(verification, choice, scheme) if choice.meter else _site(verification, choice, scheme)
    links = [("All meters", ADDRESS, not choice.meter)] if len(meters) > 1 else []
    links += [(name, f"{ADDRESS}{Choice(meter=name).query()}", name == choice.meter) for name in meters]
    return [html.H1("Energy against expectation"), chooser("Meter", links), *body]


def _site(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    bridges = [
        card("bridge", verification, Choice(bridge=which), scheme)
        for which in ("predicted_to_verified", "baseline_to_reporting")
        if rows(verification.result, "bridge", which)
    ]
    return [
        html.H2("Month by month, and the whole record"),
        html.Div(
            [card("months", verification, Choice(), scheme), card("running", verification, Choice(), scheme)],
            className="cards",
        ),
        html.Div(card("days", verification, Choice(), scheme, wide=True), className="cards"),
        html.H2("Where the difference comes from") if bridges else None,
        html.Div(bridges, className="cards"),
        html.H2("Meter by meter"),
        html.Div(card("meters", verification, Choice(), scheme, wide=True), className="cards"),
        _by_meter(verification),
        usage_groups(verification.result),
        peak_part(verification.result),
        load_drops(verification.result),
    ]


def _by_meter(verification: Verification) -> html.Div:
    lines = [
        [
            dcc.Link(name, href=f"{ADDRESS}{Choice(meter=name).query()}"),
            with_interval(estimate(verification.result, "savings", "by_meter", name, "avoided_kwh"), "kWh"),
            with_interval(
                estimate(verification.result, "savings", "by_meter", name, "normalised_annual_kwh"), "kWh"
            ),
        ]
        for name in verification.meters
    ]
    heads = ["meter", "avoided in the reporting period", "saving in a typical year"]
    return table(heads, lines, caption="Savings of each meter with their intervals", stacked=True)


def _one_meter(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    only = Choice(meter=choice.meter)
    return [
        html.H2("By day and by hour"),
        html.Div(
            [
                card("days", verification, only, scheme, wide=True),
                card("hours", verification, only, scheme, wide=True),
            ],
            className="cards",
        ),
        html.Div(
            [
                card("week", verification, only, scheme),
                card("daytypes", verification, only, scheme),
            ],
            className="cards",
        ),
        html.H2("Reading by reading"),
        _windows(verification, choice),
        html.P(
            "Drag across the drawing to look closer; a double click shows the whole again.", className="muted"
        ),
        html.Div(card("readings", verification, choice, scheme, wide=True), className="cards"),
        html.P(dcc.Link("The lines of the files behind these readings", href=f"/data{choice.query()}")),
    ]


def _windows(verification: Verification, choice: Choice) -> html.Nav:
    index = pd.DatetimeIndex(verification.meters[choice.meter].energy_kwh.index)
    last = index[-1].tz_convert(verification.study.site.timezone).tz_localize(None).normalize()
    options = [("whole record", Choice(meter=choice.meter))]
    options += [(f"a {name}", window_from(choice, days, last)) for name, days in SPANS.items()]
    if choice.start and choice.end:
        options += [("earlier", shifted(choice, -1)), ("later", shifted(choice, 1))]
    links = [(text, f"{ADDRESS}{target.query()}", target == choice) for text, target in options]
    return chooser("Window", links)
