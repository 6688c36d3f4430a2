"""What the study says, as a form and as text."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import available_timezones

from dash import html

from dashboards.blocks.fields import line, lines, one_of, refused, said
from dashboards.setup.seldom_questions import population_fields
from dashboards.setup.settling import way_to
from dashboards.setup.setup_fields import NEW, YES_NO, Field
from dashboards.setup.setup_questions import FIRST, LATER, Group, fields_of, meter_fields, zone_fields
from mv.study_file.writing import StudyText

Data = Mapping[str, Any]


def form_part(opened: StudyText, note: str = "") -> html.Section:
    """Every question about the study as it stands, what is still open above them, a note below."""
    try:
        data = tomllib.loads(opened.text)
    except tomllib.TOMLDecodeError:
        problems = [refused(problem) for problem in opened.problems]
        return html.Section([html.H2("2. What the study says"), *problems])
    meters, zones, samples = (list(data.get(name) or ()) for name in ("meter", "zone", "population"))
    notes = drafted_notes(opened.text)
    groups = [
        *(_group(group, data) for group in FIRST),
        *(
            _row("meter", number, str(meter.get("id")), data, notes.get(number, ()))
            for number, meter in enumerate(meters)
        ),
        _group(Group("Another meter", meter_fields(NEW)), data),
        *(_row("zone", number, str(zone.get("id")), data) for number, zone in enumerate(zones)),
        _group(Group("Another zone", zone_fields(NEW)), data),
        *(_row("population", number, str(group.get("id")), data) for number, group in enumerate(samples)),
        _group(Group("Loggers that stand for more places", population_fields(NEW)), data),
        *(_group(group, data) for group in LATER),
    ]
    return html.Section(
        [
            html.H2("2. What the study says"),
            *_open_questions(opened, data),
            *groups,
            html.Div(
                html.Button("Save", id="setup-save", n_clicks=0, className="act"),
                className="openers save-row",
            ),
            html.Div(said(note) if note else None, id="setup-saved", role="status"),
        ],
        className="setup-form",
    )


def _open_questions(opened: StudyText, data: Data) -> list[Any]:
    problems = opened.problems
    if not problems:
        return []
    told = {field.told: field for field in fields_of(data)}
    items = [
        html.Li(
            [
                ": ".join(part for part in (one.place, one.what) if part),
                *(way_to(told[one.place]) if one.place in told else []),
            ]
        )
        for one in problems
    ]
    return [
        html.Div([html.P("Still needed before anything can be read:"), html.Ul(items)], className="needed")
    ]


ROWS = {"meter": meter_fields, "zone": zone_fields, "population": population_fields}
CALLED = {"population": "Group of places"}  # by another name than the file's


def _row(kind: str, number: int, name: str, data: Data, notes: Sequence[str] = ()) -> html.Details:
    """A meter, zone or group that is there, with the button that takes it out of the study."""
    called = CALLED.get(kind, kind.capitalize())
    remove = html.Button(
        f"Remove {called.lower()} {name}",
        id={"type": "row-remove", "kind": kind, "key": str(number)},
        n_clicks=0,
        className="link",
    )
    return _group(Group(f"{called} {name}", ROWS[kind](number)), data, notes, last=remove)


def _group(group: Group, data: Data, notes: Sequence[str] = (), *, last: Any = None) -> html.Details:
    said = [note.replace("FILL IN:", "To be settled:") for note in notes]
    told = html.Ul([html.Li(note) for note in said], className="plain muted") if said else None
    parts = [html.Summary(group.title), told, _controls(group.common, data)]
    if group.rare:
        rare = any(field.shown(data) for field in group.rare)
        seldom = [html.Summary("Columns, factors and what is seldom needed"), _controls(group.rare, data)]
        parts.append(html.Details(seldom, open=rare, className="seldom"))
    return html.Details([*parts, last], open=group.opened or any(map(_is_open, notes)))


def _controls(fields: Sequence[Field], data: Data) -> html.Div:
    return html.Div([_control(field, data) for field in fields], className="note-form wide-form")


def _is_open(note: str) -> bool:
    return "FILL IN" in note


def _control(field: Field, data: Data) -> Any:
    id = {"type": "answer", "key": field.id}
    value = field.shown(data)
    if field.kind == "choice":
        unsaid = field.offered[0] if NEW in field.place else ""
        return one_of(field.label, id, value or unsaid, {text: text for text in field.offered})
    if field.kind == "yes-no":
        return one_of(field.label, id, value, YES_NO)
    if field.kind in ("hours", "prices", "calls", "words"):
        return lines(field.label, id, value, hint=field.hint)
    offered = sorted(available_timezones()) if field.kind == "zone" else field.offered
    if field.key == "meter":
        offered = [str(meter.get("id")) for meter in data.get("meter") or ()]
    return line(field.label, id, value, hint=field.hint, offered=offered)


def drafted_notes(text: str) -> dict[int, list[str]]:
    """What the draft noted on each meter's files, as it stands in the comments of its table."""
    notes: dict[int, list[str]] = {}
    number, inside = -1, False
    for row in text.splitlines():
        if row.strip() == "[[meter]]":
            number, inside = number + 1, True
        elif not row.strip() or row.lstrip().startswith(("[", "# [")):
            inside = False
        elif inside and row.startswith("#") and not re.match(r"#\s*[\w-]+\s*=", row):
            notes.setdefault(number, []).append(row.lstrip("# ").strip())
    return notes


def text_part(opened: StudyText) -> html.Details:
    """The whole file, for what the form does not ask."""
    return html.Details(
        [
            html.Summary(f"The whole of {opened.path.name} as text"),
            html.Div(
                [
                    lines(
                        "The study file",
                        "setup-text",
                        opened.text,
                        hint="events, instruments, papers and more",
                    ),
                    html.Button("Save the text", id="setup-text-save", n_clicks=0, className="act"),
                    html.Div(id="setup-text-said", role="status"),
                ],
                className="note-form whole-text",
            ),
        ]
    )


def answers(states: Sequence[Mapping[str, Any]]) -> dict[str, str | None]:
    """What stands in the form, by the field's id."""
    return {str(state["id"]["key"]): state.get("value") for state in states}
