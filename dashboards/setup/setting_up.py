"""What a person can do on the setup page: drop files, draft, answer, read, write."""

import json
from pathlib import Path
from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, html, no_update, set_props

from dashboards.background import BackgroundRun
from dashboards.blocks.fields import refused, said
from dashboards.blocks.notes import facts, spaced
from dashboards.blocks.tables import table
from dashboards.pages.data import remarks_table, set_aside_table
from dashboards.pages.setup import folder_of, has_study, rooms
from dashboards.running import READ
from dashboards.setup.settling import problems_part
from dashboards.setup.setup_answers import with_answers
from dashboards.setup.setup_files import NAMING, PLACES, SIDES, file_list
from dashboards.setup.setup_form import answers
from dashboards.setup.uploads import keep
from dashboards.shelf import Shelf
from mv.base.errors import TallyluxError
from mv.figures import counted, number
from mv.study_file.writing import (
    draft_study,
    open_study_text,
    save_study_text,
    with_key,
    without_meter,
    without_population,
    without_zone,
)

TAKE_OUT = {"meter": without_meter, "zone": without_zone, "population": without_population}


def connect_setup(app: Dash, shelf: Shelf, check: BackgroundRun) -> None:
    """Register the page's callbacks."""
    _connect_files(app, shelf)
    _connect_form(app, shelf)
    _connect_reading(app, shelf, check)
    _connect_text(app, shelf)


def _connect_files(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output("setup-files", "children"),
        Output("setup-said", "children"),
        Input({"type": "drop", "key": ALL}, "contents"),
        State({"type": "drop", "key": ALL}, "filename"),
        State({"type": "answer", "key": ALL}, "value"),
        State({"type": "side", "key": ALL}, "value"),
        prevent_initial_call=True,
    )
    def drop(_contents: Any, _names: Any, _answers: Any, _sides: Any) -> Any:
        if not isinstance(ctx.triggered_id, dict) or not ctx.triggered[0]["value"]:
            return no_update, no_update
        side = ctx.triggered_id["key"]
        place = [entry["id"]["key"] for entry in ctx.states_list[0]].index(side)
        names = ctx.states_list[0][place].get("value") or []
        files = dict(zip(names, ctx.triggered[0]["value"], strict=False))
        shown, told, kept = dropped(shelf.path, side, files, chosen())
        name_in_form(side, kept, answers(ctx.states_list[1]))
        return shown, told

    @app.callback(
        Output("setup-rooms", "children"),
        Output("setup-said", "children", allow_duplicate=True),
        Input("setup-draft", "n_clicks"),
        State({"type": "side", "key": ALL}, "value"),
        prevent_initial_call=True,
    )
    def draft(clicks: int, _sides: Any) -> Any:
        return drafted(shelf.path, chosen()) if clicks else (no_update, no_update)


def chosen() -> dict[str, str]:
    """The sides as marked, by path: the last of the callback's states."""
    return {entry["id"]["key"]: entry.get("value") or "" for entry in ctx.states_list[-1]}


def dropped(path: Path, side: str, files: dict[str, str], sides: dict[str, str]) -> Any:
    """Keep what was dropped; the list anew, a line for each file, and the paths they are kept under."""
    folder, told, kept = folder_of(path), [], []
    for name, packed in files.items():
        try:
            kept.append(keep(folder, PLACES[side][0], name, packed).relative_to(folder).as_posix())
            told.append(said(f"{name} is kept as {kept[-1]}."))
        except TallyluxError as error:
            told.append(refused(error))
    sides = sides | {name: side for name in kept if side in SIDES}
    drafted, study = has_study(path), open_study_text(path).tables if has_study(path) else None
    return file_list(folder, sides, drafted=drafted, study=study), told, kept


def name_in_form(side: str, kept: list[str], typed: dict[str, str | None]) -> None:
    """Write the paths into the field that names such files, where the form is there; saving is the user's."""
    field = NAMING.get(side)
    if field is None or field.id not in typed or not kept:
        return
    before = field.read(typed[field.id]) or [] if field.kind == "texts" else []
    set_props(
        {"type": "answer", "key": field.id}, {"value": ", ".join(dict.fromkeys([*before, *kept][-20:]))}
    )


def drafted(path: Path, sides: dict[str, str]) -> Any:
    """Draft the study from the files as marked; the rooms anew."""
    folder = folder_of(path)
    by_side = [[folder / name for name, own in sides.items() if own == side] for side in ("before", "after")]
    try:
        opened = draft_study(folder, *by_side)
        save_study_text(path, with_files(opened.text, sides), started_from=opened.mark)
    except TallyluxError as error:
        return no_update, refused(error)
    return rooms(path, "The study is drafted. What no file can tell is asked here."), no_update


def with_files(text: str, sides: dict[str, str]) -> str:
    """The text with the files named that are neither before nor after, each under its own key."""
    for side, field in NAMING.items():
        names = [name for name, own in sides.items() if own == side]
        if names:
            text = with_key(text, field.place, field.key, names if field.kind == "texts" else names[0])
    return text


def _connect_form(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output("setup-rooms", "children", allow_duplicate=True),
        Output("setup-saved", "children"),
        Input("setup-save", "n_clicks"),
        Input({"type": "row-remove", "kind": ALL, "key": ALL}, "n_clicks"),
        State("setup-mark", "data"),
        State({"type": "answer", "key": ALL}, "value"),
        prevent_initial_call=True,
    )
    def save(_clicks: int, _removes: Any, mark: str | None, _values: Any) -> Any:
        if mark is None or not ctx.triggered[0]["value"]:
            return no_update, no_update
        removed = ctx.triggered_id if isinstance(ctx.triggered_id, dict) else None
        typed = answers(ctx.states_list[-1])
        return written(shelf.path, mark, lambda text: _edited(text, typed, removed))


def _connect_reading(app: Dash, shelf: Shelf, check: BackgroundRun) -> None:
    @app.callback(
        Output("setup-ledgers", "children"),
        Input(f"{READ}-ended", "data"),
        prevent_initial_call=True,
    )
    def read(ended: int | None) -> Any:
        if ended is None:
            return no_update
        now = check.progress
        if now.problems:
            return problems_part(now.problems, open_study_text(shelf.path).tables)
        return ledgers(json.loads(now.answer)) if now.answer else None


def _edited(text: str, typed: dict[str, str | None], removed: dict[str, str] | None) -> str:
    text = with_answers(text, typed)
    if removed is None:
        return text
    return TAKE_OUT[removed["kind"]](text, int(removed["key"]))


def _connect_text(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output("setup-rooms", "children", allow_duplicate=True),
        Output("setup-text-said", "children"),
        Input("setup-text-save", "n_clicks"),
        State("setup-mark", "data"),
        State("setup-text", "value"),
        prevent_initial_call=True,
    )
    def save_text(clicks: int, mark: str | None, text: str | None) -> Any:
        if mark is None or not clicks:
            return no_update, no_update
        return written(shelf.path, mark, lambda _: text or "")


def written(path: Path, mark: str, edit: Any) -> Any:
    """Write the change and draw the rooms anew; where it is refused, what was typed stays."""
    try:
        opened = open_study_text(path)
        text = edit(opened.text) if opened.mark == mark else opened.text
        saved = save_study_text(path, text, started_from=mark)
    except TallyluxError as error:
        return no_update, refused(error)
    note = "Saved." if saved.mark != mark else "Nothing differs from the file."
    return rooms(path, note), no_update


def ledgers(entries: list[dict[str, Any]]) -> list[Any]:
    """What was read of every meter."""
    body = [
        [
            entry["meter"],
            *(number(float(entry[key])) for key in ("rows_read", "rows_used")),
            number(float(sum(entry["set_aside"].values()))),
            "" if entry["energy_used_kwh"] is None else number(float(entry["energy_used_kwh"])),
        ]
        for entry in entries
    ]
    heads = ["meter", "rows read", "used", "set aside", "kWh used"]
    caption = f"{counted(len(entries), 'meter')} read"
    return [
        table(heads, body, caption=caption, numeric=range(1, 5), stacked=True),
        *(_one_ledger(entry) for entry in entries),
    ]


def _one_ledger(entry: dict[str, Any]) -> html.Details:
    inferred = [(spaced(key), str(value)) for key, value in (entry.get("inferred") or {}).items()]
    return html.Details(
        [
            html.Summary(f"{entry['meter']}: told from the file, set aside, remarks"),
            facts(inferred),
            set_aside_table(entry),
            remarks_table(entry),
        ]
    )
