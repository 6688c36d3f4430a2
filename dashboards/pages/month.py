"""One month on one page that prints: used, expected, avoided, and what to look into."""

from typing import Any

from dash import html

from dashboards.blocks.cards import card, chooser
from dashboards.blocks.findings import findings_list
from dashboards.blocks.notes import cautions
from dashboards.choice import Choice
from mv import figures
from mv.base.verification import Verification
from mv.figures import Scheme

ADDRESS = "/month"


def page(verification: Verification, choice: Choice, scheme: Scheme) -> list[Any]:
    """The last month unless another is chosen."""
    result = verification.result
    months = figures.months_told(result)
    if not months:
        return [html.H1("Month"), html.P("The result holds no months.", className="cannot")]
    month = choice.month if choice.month in months else months[-1]
    answer = figures.month_answer(result, month)
    only = Choice(month=month)
    links = [(_brief(name), f"{ADDRESS}{Choice(month=name).query()}", name == month) for name in months]
    return [
        html.H1(answer.question),
        chooser("Month", links),
        html.Div(
            [html.P(answer.short, className="short"), *(html.P(text) for text in answer.sentences)],
            className="words month-words",
        ),
        html.H2("Its days and its hours"),
        html.Div(
            [
                card("month", verification, only, scheme),
                card("sitehours", verification, only, scheme),
            ],
            className="cards",
        ),
        cautions(result),
        html.H2("What has changed, the costliest first"),
        findings_list(verification, scheme, figures.drift_in_month(result, month)),
        html.H2("The year so far"),
        html.Div([card("running", verification, Choice(), scheme, wide=True)], className="cards"),
    ]


def _brief(month: str) -> str:
    name, year = figures.month_words(month).split()
    return f"{name[:3]} {year}"
