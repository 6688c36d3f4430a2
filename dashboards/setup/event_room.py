"""Non-routine events as the study file tells them, with forms to change them, and days to look into."""

from collections.abc import Mapping
from typing import Any

from dash import dcc, html

from dashboards.blocks.fields import line, one_of, some_of
from dashboards.blocks.stretches import candidate_words
from mv.base.study_records import Event, Study
from mv.base.verification import Verification
from mv.figures import day_words, listed, rows

TREATMENTS = {
    "set aside": "set aside: these days count in neither model nor total",
    "model": "model: a term of its own takes its level out",
    "note only": "note only: told, nothing changed",
}
LEFT_IN = "note only"  # the treatment of days that were looked into and stay as they are


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

    buttons = [_button("save", key, "Save the change" if key.isdigit() else "Add this event", "act")]
    if key.isdigit():
        buttons.append(_button("remove", key, "Remove this event"))
    elif key != "new":
        buttons.append(_button("leave", key, "It was no event: leave the days in, with this reason"))
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


def _button(act: str, key: str, words: str, kind: str = "link") -> html.Button:
    return html.Button(words, id={"type": f"event-{act}", "key": key}, n_clicks=0, className=kind)


def _to_look_into(found: list[Mapping[str, Any]], meters: list[str]) -> list[Any]:
    if not found:
        return []
    parts: list[Any] = [
        html.H3("Days that the models cannot explain"),
        html.P("Each is to be looked into: an event with its evidence, or days that stay in with a reason."),
    ]
    for number, entry in enumerate(found):
        first, last, meter = (str(entry[key]) for key in ("first", "last", "meter"))
        event = Event.model_construct(
            first=first, last=last, treatment="set aside", reason="", meters=(meter,)
        )
        parts.append(
            html.Details(
                [
                    html.Summary([html.Strong(f"{meter}: "), candidate_words(entry)]),
                    _form(f"found-{number}", event, meters),
                ]
            )
        )
    return parts


def unexplained(verification: Verification, known: tuple[Event, ...]) -> list[Mapping[str, Any]]:
    """The stretches that the models found, without those that an event or a finding tells of."""
    return [
        entry
        for entry in rows(verification.result, "event_candidates")
        if not entry.get("finding") and not any(_covers(event, entry) for event in known)
    ]


def _covers(event: Event, entry: Mapping[str, Any]) -> bool:
    of_meter = not event.meters or entry.get("meter") in event.meters
    return of_meter and str(event.first) <= str(entry["last"]) and str(entry["first"]) <= str(event.last)
