"""What a person can do on the setup page: drop files, draft, answer, read, write."""

import json
from pathlib import Path
from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, html, no_update

from dashboards.background import BackgroundRun
from dashboards.fields import refused, said
from dashboards.notes import facts, spaced
from dashboards.pages.data import remarks_table, set_aside_table
from dashboards.pages.setup import folder_of, has_study, rooms
from dashboards.running import READ
from dashboards.setup_answers import with_answers
from dashboards.setup_files import PLACES, file_list
from dashboards.setup_form import answers
from dashboards.shelf import Shelf
from dashboards.tables import table
from dashboards.uploads import keep
from mv.base.errors import TallyluxError
from mv.figures import counted, number
from mv.study_writing import draft_study, open_study_text, save_study_text, without_zone


def connect_setup(app: Dash, shelf: Shelf, check: BackgroundRun) -> None:
    """Register the page's callbacks."""
    _connect_files(app, shelf)
    _connect_form(app, shelf)
    _connect_reading(app, check)
    _connect_text(app, shelf)


def _connect_files(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output("setup-files", "children"),
        Output("setup-said", "children"),
        Input({"type": "drop", "key": ALL}, "contents"),
        State({"type": "drop", "key": ALL}, "filename"),
        State({"type": "side", "key": ALL}, "value"),
        prevent_initial_call=True,
    )
    def drop(_contents: Any, _names: Any, _sides: Any) -> Any:
        if not isinstance(ctx.triggered_id, dict) or not ctx.triggered[0]["value"]:
            return no_update, no_update
        side = ctx.triggered_id["key"]
        place = [entry["id"]["key"] for entry in ctx.states_list[0]].index(side)
        names = ctx.states_list[0][place].get("value") or []
        return dropped(shelf.path, side, dict(zip(names, ctx.triggered[0]["value"], strict=False)), chosen())

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
    """Keep what was dropped; the list anew, and a line for each file."""
    folder, told = folder_of(path), []
    for name, packed in files.items():
        try:
            target = keep(folder, PLACES[side][0], name, packed).relative_to(folder).as_posix()
            sides = sides if side == "logs" else {**sides, target: side}
            told.append(said(f"{name} is kept as {target}."))
        except TallyluxError as error:
            told.append(refused(error))
    return file_list(folder, sides, drafted=has_study(path)), told


def drafted(path: Path, sides: dict[str, str]) -> Any:
    """Draft the study from the files as marked; the rooms anew."""
    folder = folder_of(path)
    by_side = [[folder / name for name, own in sides.items() if own == side] for side in ("before", "after")]
    try:
        draft_study(folder, *by_side)
    except TallyluxError as error:
        return no_update, refused(error)
    return rooms(path, "The study is drafted. What no file can tell is asked here."), no_update


def _connect_form(app: Dash, shelf: Shelf) -> None:
    @app.callback(
        Output("setup-rooms", "children", allow_duplicate=True),
        Output("setup-saved", "children"),
        Input("setup-save", "n_clicks"),
        Input({"type": "zone-remove", "key": ALL}, "n_clicks"),
        State("setup-mark", "data"),
        State({"type": "answer", "key": ALL}, "value"),
        prevent_initial_call=True,
    )
    def save(_clicks: int, _removes: Any, mark: str | None, _values: Any) -> Any:
        if mark is None or not ctx.triggered[0]["value"]:
            return no_update, no_update
        removed = int(ctx.triggered_id["key"]) if isinstance(ctx.triggered_id, dict) else None
        typed = answers(ctx.states_list[-1])
        return written(shelf.path, mark, lambda text: _edited(text, typed, removed))


def _connect_reading(app: Dash, check: BackgroundRun) -> None:
    @app.callback(
        Output("setup-ledgers", "children"),
        Input(f"{READ}-ended", "data"),
        prevent_initial_call=True,
    )
    def read(ended: int | None) -> Any:
        return no_update if ended is None else ledgers(json.loads(check.progress.answer or "[]"))


def _edited(text: str, typed: dict[str, str | None], removed: int | None) -> str:
    text = with_answers(text, typed)
    return text if removed is None else without_zone(text, removed)


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
