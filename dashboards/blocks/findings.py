"""What has changed since hand-over, each finding with what to check first and room for a note."""

from collections.abc import Mapping
from typing import Any

from dash import dcc, html

from dashboards.blocks.aria import aria
from dashboards.blocks.cards import card
from dashboards.choice import Choice
from mv.acknowledge import Acknowledgement, acknowledged_now, finding_key
from mv.base.errors import TallyluxError
from mv.base.verification import Verification
from mv.figures import (
    Scheme,
    changes_of,
    costliest_first,
    day_words,
    estimate,
    gaps_of,
    money,
    monthly_amount,
    part,
    pictures_of,
    rows,
)

Row = Mapping[str, Any]


def findings_list(verification: Verification, scheme: Scheme, drift: list[Row] | None = None) -> html.Div:
    """Every change, the costliest first, then the stretches without readings; notes stand with them."""
    shown = rows(verification.result, "drift") if drift is None else drift
    changes, gaps = costliest_first(changes_of(shown)), gaps_of(shown)
    first = _listed(verification, changes, scheme) if changes else html.P("Nothing that the data show.")
    parts: list[Any] = [first]
    if gaps:
        told = "Without readings nothing is known of the lighting; no change is counted from these."
        parts += [html.H3("Stretches without readings"), html.P(told, className="muted")]
        parts.append(_listed(verification, gaps, scheme))
    return html.Div(parts)


def _listed(verification: Verification, shown: list[Row], scheme: Scheme) -> html.Ol:
    known, currency = _known(verification), currency_of(verification.result)
    items = [
        html.Li(
            [
                html.Div(_finding(row, currency, known.get(finding_key(row))), className="told"),
                _pictures(verification, str(row.get("id") or ""), scheme),
            ]
        )
        for row in shown
    ]
    return html.Ol(items, className="findings")


def _pictures(verification: Verification, key: str, scheme: Scheme) -> html.Div | None:
    """What shows the finding; each picture comes when it is in sight."""
    if not key:
        return None
    choice = Choice(finding=key)
    cards = [card(f"finding-{name}", verification, choice, scheme) for name in pictures_of(verification, key)]
    return html.Div(cards, className="shown-by")


def currency_of(result: Row) -> str:
    """The study's currency."""
    return str(part(result, "money", "currency") or part(result, "study", "tariff", "currency") or "")


def _known(verification: Verification) -> dict[str, Acknowledgement]:
    try:
        return acknowledged_now(verification.study.folder, rows(verification.result, "drift"))
    except TallyluxError:
        return {}


def _finding(row: Row, currency: str, note: Acknowledgement | None) -> list[Any]:
    sign = html.Span("▲ ", className="sign", **aria(hidden="true"))
    lines: list[Any] = [
        html.H3([sign, f"{row.get('where')}: {row.get('what')}"]),
        html.P(_when(row), className="muted"),
        html.P(
            monthly_amount(row["kwh_per_month"])
            if estimate(row, "kwh_per_month")
            else "Its energy cannot be told."
        ),
        *_price(row.get("cost_per_month"), currency),
        *_points("Likely causes", row.get("likely_causes")),
        *_points("Check first", row.get("check_first")),
    ]
    return [*lines, note_room(row, note)]


def _when(row: Row) -> str:
    if not row.get("since"):
        return "Since when cannot be told"
    until = f" to {day_words(row['until'])}" if row.get("until") else ""
    return f"{'From' if until else 'Since'} {day_words(row['since'])}{until}"


def _price(price: Any, currency: str) -> list[Any]:
    if isinstance(price, Mapping):
        price = price.get("estimate")
    if not isinstance(price, int | float):
        return []
    return [html.P(f"{money(abs(price), currency)} a month {'less' if price < 0 else 'more'}")]


def _points(title: str, told: Any) -> list[Any]:
    points = [str(entry) for entry in told] if isinstance(told, list | tuple) else [str(told)] if told else []
    return [html.H4(title), html.Ul([html.Li(point) for point in points])] if points else []


def note_room(row: Row, note: Acknowledgement | None) -> html.Div:
    """The note on a finding where there is one, and the place to write the next."""
    key = finding_key(row)
    return html.Div(note_words(key, note), id={"type": "note", "key": key}, className="note")


def note_words(key: str, note: Acknowledgement | None, problem: str = "") -> list[Any]:
    """What was noted, or the form to note it."""
    if note is not None:
        text = f"Known since {day_words(note.when[:10])} ({note.who}): {note.why}"
        return [html.P(text, className="known"), *_form(key, "Open it again", problem)]
    return _form(key, "Note that this is known", problem)


def _form(key: str, purpose: str, problem: str) -> list[Any]:
    who = dcc.Input(id={"type": "who", "key": key}, type="text", maxLength=200, className="field")
    why = dcc.Textarea(id={"type": "why", "key": key}, maxLength=2000, className="field")
    button = html.Button(purpose, id={"type": "note-button", "key": key}, n_clicks=0, className="act")
    fields = html.Div(
        [
            html.Label(["Your name", who]),
            html.Label(["Why it may stand, or what is being done", why]),
            button,
        ],
        className="note-form",
    )
    return [
        html.Details([html.Summary(purpose), fields], open=bool(problem)),
        html.P(problem, className="cannot", role="alert") if problem else None,
    ]
