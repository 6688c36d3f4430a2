"""One app, one study: no shared state, nothing from elsewhere, everything compressed."""

import gzip
import json
import re
import socket
from pathlib import Path
from typing import Any

import pytest

from dashboards import create_app
from dashboards.choice import Choice
from dashboards.router import zoomed
from dashboards.server.compressing import Compressed
from dashboards.server.serving import open_listener, serve
from dashboards.shelf import Shelf
from mv.base.errors import InputError, StudyError


def test_two_apps_share_nothing(verification: Any, tmp_path: Path) -> None:
    first = create_app(tmp_path / "a", opener=lambda path, _: pytest.fail(f"opened {path}"))
    second = create_app(tmp_path / "b", results=tmp_path, opener=lambda _path, _results: verification)
    assert first.server is not second.server
    assert second.server.test_client().get("/download/result.json").status_code == 200


def test_the_page_says_its_language_and_fetches_only_from_here(client: Any) -> None:
    page = client.get("/").data.decode()
    assert '<html lang="en">' in page
    assert not re.findall(r'(?:src|href)="(?:https?:)?//', page)
    policy = client.get("/").headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-eval" not in policy
    assert "'unsafe-inline'" not in policy.split("script-src")[1].split(";")[0]


def test_the_stylesheet_names_no_outside_address() -> None:
    for file in (Path(__file__).resolve().parents[2] / "dashboards" / "assets").iterdir():
        text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http" not in text, file.name
        assert "@import" not in text, file.name


def test_a_store_holds_keys_only(app: Any) -> None:
    stores = [entry for entry in app.layout().children if type(entry).__name__ == "Store"]
    assert [store.id for store in stores] == ["scheme"]


def test_texts_are_compressed_for_whoever_takes_it(app: Any, asked: Any) -> None:
    wsgi = Compressed(app.server.wsgi_app)
    plain = asked(wsgi, "/download/daily.csv")
    packed = asked(wsgi, "/download/daily.csv", headers={"Accept-Encoding": "gzip"})
    assert "content-encoding" not in plain[1]
    assert packed[1]["content-encoding"] == "gzip"
    assert gzip.decompress(packed[2]) == plain[2]
    assert int(packed[1]["content-length"]) == len(packed[2]) < len(plain[2]) / 3


def test_the_shelf_opens_again_when_the_result_is_written_anew(tmp_path: Path) -> None:
    opened: list[int] = []
    shelf = Shelf(tmp_path, results=tmp_path, opener=lambda _path, _results: opened.append(1) or len(opened))
    (tmp_path / "result.json").write_text("{}", encoding="utf-8")
    assert [shelf.verification(), shelf.verification()] == [1, 1]
    (tmp_path / "result.json").write_text("{ }", encoding="utf-8")
    assert shelf.verification() == 2


def test_the_shelf_gives_the_reason_where_there_is_nothing(tmp_path: Path) -> None:
    assert isinstance(Shelf(tmp_path).attempt(), StudyError)


@pytest.mark.parametrize(
    ("moved", "window"),
    [
        ({"xaxis.range[0]": "a", "xaxis.range[1]": "b"}, Choice(meter="m", start="a", end="b")),
        ({"xaxis.autorange": True}, Choice(meter="m")),
        ({"autosize": True}, None),
        ({}, None),
    ],
)
def test_only_a_drag_or_a_double_click_cuts_the_readings_anew(
    moved: dict[str, Any], window: Choice | None
) -> None:
    assert zoomed(moved, Choice(meter="m")) == window


def test_a_busy_port_leads_to_the_next_free_one() -> None:
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        port = busy.getsockname()[1]
        listener = open_listener("127.0.0.1", port)
        try:
            assert port < listener.getsockname()[1] < port + 20
        finally:
            listener.close()


def test_an_address_that_is_not_ours_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="cannot listen"):
        open_listener("203.0.113.1", 8050)  # TEST-NET-3, RFC 5737


def test_a_study_that_is_not_there_is_refused_before_anything_is_served(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not there"):
        serve(tmp_path / "none", open_browser=False)


def test_a_callback_answers_over_http(client: Any) -> None:
    """The router, as the browser asks it."""
    body = {
        "output": "..masthead.children...content.children..",
        "outputs": [
            {"id": "masthead", "property": "children"},
            {"id": "content", "property": "children"},
        ],
        "inputs": [
            {"id": "place", "property": "pathname", "value": "/"},
            {"id": "place", "property": "search", "value": ""},
            {"id": "scheme", "property": "data", "value": "dark"},
        ],
        "changedPropIds": ["place.pathname"],
        "parsedChangedPropsIds": ["place.pathname"],
    }
    answer = client.post("/_dash-update-component", json=body)
    assert answer.status_code == 200
    assert "Did it save what was promised?" in json.dumps(answer.get_json())
