"""The files of a study: where to drop them, and which were read before the retrofit and which after."""

from collections.abc import Mapping
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

from dash import dcc, html

from dashboards.blocks.aria import aria
from dashboards.blocks.fields import one_of
from dashboards.setup.setup_fields import Field, at
from dashboards.setup.uploads import (
    KINDS,
    LARGEST_FILE_BYTES,
    LARGEST_REQUEST_BYTES,
    METERS,
    MOTION,
    data_files,
    side_of,
)

SIDES = {
    "before": "before",
    "after": "after",
    "inventory": "inventory",
    "occupancy": "occupancy",
    "weather": "temperature",
    "": "not used",
}
PLACES = {  # what is dropped there -> the folder it is kept in, and what it is called
    "before": (METERS, "Meter readings from before the retrofit"),
    "after": (METERS, "Meter readings from after it"),
    "motion": (MOTION, "Motion logs of zones, if there are any"),
    "inventory": ("", "The inventory, if the promise follows from one"),
    "occupancy": ("", "Occupancy counts, if there are any"),
    "weather": ("", "Outdoor temperature, for whole-building meters"),
}
NAMING = {  # what is dropped there -> the field of the study that names it
    "inventory": Field(("predicted",), "inventory", ""),
    "occupancy": Field(("occupancy",), "files", "", "texts"),
    "weather": Field(("weather",), "files", "", "texts"),
}
MEGABYTE = 1_000_000


def files_part(folder: Path, *, drafted: bool, study: Mapping[str, Any] | None = None) -> html.Section:
    """Where files are dropped, and the list of those that are there."""
    drops = [_drop(key, label) for key, (_, label) in PLACES.items()]
    return html.Section(
        [
            html.H2("1. Files"),
            html.P(
                f"At most {LARGEST_FILE_BYTES // MEGABYTE} MB a file; {', '.join(KINDS)}. They are copied "
                "into the study's folder, and no file there is overwritten.",
                className="muted",
            ),
            html.Div(drops, className="cards drops"),
            html.Div(id="setup-said", role="status"),
            html.Div(file_list(folder, {}, drafted=drafted, study=study), id="setup-files"),
        ]
    )


def _drop(key: str, label: str) -> Any:
    inside = html.Div([html.Strong(label), html.Span("Drop files here, or choose them")])
    return html.Div(
        dcc.Upload(
            inside,
            id={"type": "drop", "key": key},
            multiple=True,
            max_size=LARGEST_REQUEST_BYTES * 7 // 10,
            className="drop",
            className_active="drop over",
            style={},
        ),
        role="group",
        **aria(label=label),
    )


def file_list(
    folder: Path, sides: Mapping[str, str], *, drafted: bool, study: Mapping[str, Any] | None = None
) -> list[Any]:
    """The files in the folder; before there is a study, each with its side and the button that drafts it.

    `sides` are those chosen so far, by path; a file without one goes by its name. `study` is what the
    study file holds, to tell which files it names.
    """
    names = data_files(folder)
    if not names:
        return [html.P("No file is there yet.", className="muted")]
    if drafted:
        return [
            html.P("In the study's folder, and what the study takes each for:"),
            html.Ul([html.Li(f"{name}: {use_of(name, study or {})}") for name in names], className="files"),
        ]
    rows = [
        html.Li(one_of(name, {"type": "side", "key": name}, sides.get(name, side_of(name)), SIDES))
        for name in names
        if not name.startswith(f"{MOTION}/")
    ]
    return [
        html.Ul(rows, className="plain sides note-form"),
        html.Button("Read them and draft the study", id="setup-draft", n_clicks=0, className="act"),
    ]


def use_of(name: str, study: Mapping[str, Any]) -> str:
    """What the study takes a file for, in words."""
    named: list[tuple[str, Any]] = [
        (f"meter {meter.get('id')}", meter.get("files")) for meter in study.get("meter") or ()
    ]
    named += [(f"motion in {zone.get('id')}", zone.get("motion")) for zone in study.get("zone") or ()]
    named += [(kind, at(study, (kind,)).get("files")) for kind in ("occupancy", "weather")]
    named.append(("inventory", at(study, ("predicted",)).get("inventory")))
    uses = [what for what, patterns in named if _matches(name, patterns)]
    return ", ".join(uses) or "not named yet"


def _matches(name: str, patterns: Any) -> bool:
    listed = [patterns] if isinstance(patterns, str) else patterns or []
    return any(fnmatchcase(name, str(pattern)) for pattern in listed)
