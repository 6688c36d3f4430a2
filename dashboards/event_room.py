"""Non-routine events as the study file tells them, with forms to change them, and days to look into."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dash import dcc, html

from dashboards.fields import line, one_of, some_of
from mv.base.study_records import Event, Study
from mv.base.verification import Verification
from mv.figures import day_words, listed, rows

TREATMENTS = {
    "set aside": "set aside: these days count in neither model nor total",
    "model": "model: a term of its own takes its level out",
    "note only": "note only: told, nothing changed",
}
_STRETCH = re.compile(r"^From (\d{4}-\d\d-\d\d) (?:to (\d{4}-\d\d-\d\d)|(to the end))")


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days of one meter that its model cannot explain."""

    meter: str
    first: str
    last: str
    sentence: str


def room() -> html.Section:
    """The place that the callback fills."""
    return html.Section(
        [
            html.H2("Events on site"),
            html.P(
                "What happened that neither the lighting nor its users' routine explains. Each needs its "
                "evidence as the reason; without evidence nothing is adjusted."
            ),
            dcc.Store(id="events-mark"),
            html.Div(id="events-room"),
            html.Div(id="events-said", role="status"),
        ]
    )


def contents(study: Study, verification: Verification | None) -> list[Any]:
    """The events of the file, each with its form; a form for another; days to look into."""
    meters = [meter.id for meter in study.meter]
    known = [
        html.Details([html.Summary(_told(event)), _form(str(number), event, meters)])
        for number, event in enumerate(study.event)
    ]
    blank = Event.model_construct(first="", last="", treatment="set aside", reason="", meters=())
    return [
        *(known or [html.P("The study file tells of none.", className="muted")]),
        html.Details([html.Summary("Add an event"), _form("new", blank, meters)]),
        *_to_look_into(unexplained(verification, study.event) if verification else [], meters),
    ]


def _told(event: Event) -> str:
    days = f"{day_words(event.first)} to {day_words(event.last)}"
    where = f", {listed(list(event.meters))}" if event.meters else ""
    return f"{days}{where}: {event.reason} ({event.treatment})"


def _form(key: str, event: Event, meters: list[str]) -> html.Div:
    def field(name: str) -> dict[str, str]:
        return {"type": "event-field", "key": key, "name": name}

    is_new = not key.isdigit()
    buttons = [
        html.Button(
            "Add this event" if is_new else "Save the change",
            id={"type": "event-save", "key": key},
            n_clicks=0,
            className="act",
        )
    ]
    if not is_new:
        buttons.append(
            html.Button(
                "Remove this event", id={"type": "event-remove", "key": key}, n_clicks=0, className="link"
            )
        )
    return html.Div(
        [
            line("First day", field("first"), str(event.first), hint="such as 2024-09-02, local date"),
            line("Last day", field("last"), str(event.last), hint="included"),
            one_of("Treatment", field("treatment"), event.treatment, TREATMENTS),
            line("Reason and its evidence", field("reason"), event.reason),
            some_of("Meters (none marked: every meter)", field("meters"), event.meters, meters),
            html.Div(buttons, className="openers"),
        ],
        className="note-form",
    )


def _to_look_into(found: list[Stretch], meters: list[str]) -> list[Any]:
    if not found:
        return []
    parts: list[Any] = [html.H3("Days that the models cannot explain")]
    for number, stretch in enumerate(found):
        event = Event.model_construct(
            first=stretch.first, last=stretch.last, treatment="set aside", reason="", meters=(stretch.meter,)
        )
        parts += [
            html.P([html.Strong(f"{stretch.meter}: "), stretch.sentence]),
            html.Details(
                [
                    html.Summary(f"Describe it as an event: {stretch.meter}, from {stretch.first}"),
                    _form(f"stretch-{number}", event, meters),
                ]
            ),
        ]
    return parts


def unexplained(verification: Verification, known: tuple[Event, ...]) -> list[Stretch]:
    """The stretches that the models found, without those that an event already tells of."""
    found = []
    for model in rows(verification.result, "models"):
        for text in model.get("findings") or []:
            stretch = _stretch(str(text), model, verification.study)
            if stretch and not any(_covers(event, stretch) for event in known):
                found.append(stretch)
    return found


def _stretch(text: str, model: Mapping[str, Any], study: Study) -> Stretch | None:
    match = _STRETCH.match(text)
    if match is None:
        return None
    period = getattr(study.periods, str(model.get("period")), None)
    last = match.group(2) or (str(period.last) if period else match.group(1))
    return Stretch(str(model.get("meter")), match.group(1), last, text)


def _covers(event: Event, stretch: Stretch) -> bool:
    of_meter = not event.meters or stretch.meter in event.meters
    return of_meter and str(event.first) <= stretch.last and stretch.first <= str(event.last)
