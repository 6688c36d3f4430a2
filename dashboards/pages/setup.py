"""Setting a study up: files, what the study says of them, what was read, and the first verification."""

from pathlib import Path
from typing import Any

from dash import dcc, html

from dashboards.blocks.fields import refused
from dashboards.running import READ, SETUP, run_room
from dashboards.setup.setup_files import files_part
from dashboards.setup.setup_form import form_part, text_part
from mv.base.errors import TallyluxError
from mv.study_file.writing import STUDY_FILE, open_study_text

ADDRESS = SETUP


def folder_of(path: Path) -> Path:
    """The study's folder, whether it or its file is named."""
    return path if path.is_dir() else path.parent


def has_study(path: Path) -> bool:
    """True where there is a study file."""
    return path.is_file() or (path / STUDY_FILE).is_file()


def page(path: Path) -> list[Any]:
    """The frame of the page; the rooms in it are drawn again after each change."""
    return [
        html.H1("Set up the study"),
        html.P(
            f"All that is said here is kept in {STUDY_FILE}, which may as well be changed in an editor: "
            "comments stay."
        ),
        html.Div(rooms(path), id="setup-rooms"),
    ]


def rooms(path: Path, note: str = "") -> list[Any]:
    """Files first; once there is a study: its form, what is read, the verification, the text.

    `note` tells what has just been done with the study.
    """
    folder = folder_of(path)
    if not has_study(path):
        return [files_part(folder, drafted=False), dcc.Store(id="setup-mark")]
    try:
        opened = open_study_text(path)
    except TallyluxError as error:
        return [files_part(folder, drafted=True), refused(error), dcc.Store(id="setup-mark")]
    return [
        files_part(folder, drafted=True, study=opened.tables),
        dcc.Store(id="setup-mark", data=opened.mark),
        form_part(opened, note),
        _reading(),
        html.Section([html.H2("4. Verify"), run_room("Verify now")]),
        text_part(opened),
    ]


def _reading() -> html.Section:
    return html.Section(
        [
            html.H2("3. What is read"),
            html.P("Reads and cleans every meter's files as the study now says, and changes nothing."),
            run_room("Read the files", READ),
            html.Div(id="setup-ledgers"),
        ]
    )
