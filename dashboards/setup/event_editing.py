"""Adds, changes and removes events in the study file."""

from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, no_update

from dashboards.blocks.fields import refused, said
from dashboards.setup.event_room import LEFT_IN, contents
from dashboards.shelf import Shelf
from mv.base.errors import TallyluxError
from mv.base.verification import Verification
from mv.study import load_study, study_of_text
from mv.study_file.writing import (
    StudyText,
    open_study_text,
    save_study_text,
    with_event,
    with_event_changed,
    without_event,
)

Typed = dict[str, dict[str, Any]]  # by form, then by field
DONE = "Written to the study file. The numbers follow when the study is verified again, below."


def connect_events(app: Dash, shelf: Shelf) -> None:
    """Register the callback of the room."""

    @app.callback(
        Output("events-room", "children"),
        Output("events-mark", "data"),
        Output("events-said", "children"),
        Input("events-room", "id"),
        Input({"type": "event-save", "key": ALL}, "n_clicks"),
        Input({"type": "event-remove", "key": ALL}, "n_clicks"),
        Input({"type": "event-leave", "key": ALL}, "n_clicks"),
        State({"type": "event-field", "key": ALL, "name": ALL}, "value"),
        State("events-mark", "data"),
    )
    def change(_room: str, _saves: Any, _removes: Any, _leaves: Any, _values: Any, mark: str | None) -> Any:
        asked = ctx.triggered_id
        if not isinstance(asked, dict):
            return shown(shelf)
        if not ctx.triggered[0]["value"] or mark is None:
            return no_update, no_update, no_update
        forms = typed(ctx.states_list[0])
        if asked["type"] == "event-leave":
            forms[asked["key"]]["treatment"] = LEFT_IN
        return changed(shelf, asked["key"], forms, mark, remove=asked["type"] == "event-remove")


def typed(states: list[dict[str, Any]]) -> Typed:
    """What stands in the forms, by form and field."""
    forms: Typed = {}
    for state in states:
        forms.setdefault(state["id"]["key"], {})[state["id"]["name"]] = state.get("value")
    return forms


def shown(shelf: Shelf) -> Any:
    """The room as the file has it now."""
    try:
        opened = open_study_text(shelf.path)
        study = study_of_text(opened.text, opened.path)
    except TallyluxError as error:
        return refused(error), None, None
    verification = shelf.attempt()
    known = verification if isinstance(verification, Verification) else None
    return contents(study, known), opened.mark, None


def changed(shelf: Shelf, key: str, forms: Typed, mark: str, *, remove: bool) -> Any:
    """Write the change; where it is refused, what was typed stays, with the reason below it."""
    try:
        opened = open_study_text(shelf.path)
        number = int(key) if key.isdigit() else None
        if number is not None and (opened.mark != mark or number >= len(load_study(shelf.path).event)):
            text = opened.text  # the numbers may mean others by now: the writer below refuses it
        elif remove and number is not None:
            text = without_event(opened.text, number)
        elif number is not None:
            text = with_event_changed(opened.text, number, event_of(forms[key], opened, number))
        else:
            text, mark = with_event(opened.text, event_of(forms[key])), opened.mark  # depends on no other
        save_study_text(shelf.path, text, started_from=mark)
    except TallyluxError as error:
        return no_update, no_update, refused(error)
    children, new_mark, _ = shown(shelf)
    return children, new_mark, said(DONE)


def event_of(
    form: dict[str, Any], opened: StudyText | None = None, number: int | None = None
) -> dict[str, Any]:
    """The keys of an event as typed; those that already stand in the file so are left out."""
    event: dict[str, Any] = {
        name: str(form.get(name) or "").strip() for name in ("first", "last", "treatment", "reason")
    }
    event["meters"] = list(form.get("meters") or []) or None
    if opened is None or number is None:
        return event
    before = study_of_text(opened.text, opened.path).event[number]
    return {name: value for name, value in event.items() if str(getattr(before, name)) != value}
