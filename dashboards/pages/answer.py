"""The first page: saved as promised? how sure? lasting?"""

from collections.abc import Mapping
from typing import Any

from dash import dcc, html

from dashboards.blocks.cards import card
from dashboards.blocks.marks import handover_board
from dashboards.blocks.money_facts import money_facts
from dashboards.blocks.notes import cautions, facts, unsaid
from dashboards.choice import Choice
from mv import figures
from mv.base.verification import Verification
from mv.figures import PlainAnswer, Scheme, estimate, part, with_interval


def page(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """Three questions, each with its short answer, its sentences and one picture."""
    result = verification.result
    promise, certainty, lasting = figures.three_answers(result)
    return [
        html.H1("Saved, sure, lasting?", className="unseen"),
        _block(
            promise,
            card("promise", verification, choice, scheme),
            ("/energy", "Month by month and day by day"),
        ),
        _block(certainty, _behind(result), ("/method", "Models, tests and limits")),
        _block(
            lasting,
            handover_board(result),
            ("/settings", "Each setting, since when, and what to check"),
            kind="answer spread",
        ),
        html.Div(card("running", verification, choice, scheme, wide=True), className="cards"),
        money_facts(result),
        unsaid(result),
        cautions(result),
        html.P(
            [
                html.A("The same in plain words, as one file to send", href="/download/proof.html"),
                " (promised, found, lasting; no link in it, opens anywhere)",
            ],
            className="take-away",
        ),
    ]


def _block(
    answer: PlainAnswer, picture: Any, further: tuple[str, str], *, kind: str = "answer"
) -> html.Section:
    words = html.Div(
        [
            html.H2(answer.question, className="question"),
            html.P(answer.short, className="short"),
            *(html.P(sentence) for sentence in answer.sentences),
            html.P(dcc.Link(further[1], href=further[0], className="further")),
        ],
        className="words",
    )
    return html.Section([words, html.Div(picture, className="picture")], className=kind)


def _behind(result: Mapping[str, Any]) -> html.Div:
    """The numbers behind the answers, each with its interval."""
    peak = part(result, "predicted", "peak_kw")
    rate = estimate(result, "realisation_rate")
    pairs = [
        (
            "Saving in a typical year",
            _bare(estimate(result, "savings", "normalised_annual_kwh"), "kWh"),
        ),
        ("Avoided in the reporting period", _bare(estimate(result, "savings", "avoided_kwh"), "kWh")),
        ("Peak reduction", _bare(estimate(result, "savings", "peak_kw"), "kW")),
        ("Peak reduction promised", f"{figures.number(peak, step=0.1)} kW" if peak is not None else None),
        ("Share of the promise", figures.share_with_interval(rate) if rate else None),
    ]
    confidence = part(result, "study", "study", "confidence")
    heading = "The numbers with their intervals"
    heading += f", {figures.per_cent(confidence)} confidence" if confidence else ""
    return html.Div([html.H3(heading), facts(pairs)], className="card")


def _bare(found: Mapping[str, Any] | None, unit: str) -> str:
    return with_interval(found, unit, confidence=False)
