"""From files to pages: what a verification leaves on disk is what the dashboard opens."""

import json
import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from dashboards import create_app
from dashboards.pages import PAGES
from mv.base.unsaid import plain_name
from mv.figures import unsaid_words

ROOT = Path(__file__).resolve().parents[2]
STUDY = """
format = 1
[study]
title = "Two small halls"
[site]
name = "Somewhere invented"
latitude = 52.0
longitude = 5.0
timezone = "Europe/Amsterdam"
[periods]
baseline = ["2024-01-08", "2024-03-31"]
reporting = ["2024-04-15", "2024-06-30"]
[[meter]]
id = "M=1"
files = ["m1.csv"]
unit = "kWh"
quantity = "energy"
stamp = "start"
clock = "UTC"
[occupancy.hours]
mon-fri = "07:00-19:00"
[predicted]
annual_kwh = 20000
[[zone]]
id = "hall"
meter = "M=1"
fixtures = 40
watts_before = 200
watts_after = 80
[zone.commissioned]
high_trim = 0.8
scheduled_off = true
[tariff]
currency = "EUR"
energy_per_kwh = 0.2
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An invented study of hourly readings, verified and kept beside itself."""
    from mv import store
    from mv.verify import verify_study

    folder = tmp_path_factory.mktemp("halls")
    index = pd.date_range("2024-01-01", "2024-07-01", freq="h", tz="UTC", inclusive="left")
    local = index.tz_convert("Europe/Amsterdam")
    is_open = (local.day_of_week < 5) & (local.hour >= 7) & (local.hour < 19)
    level = np.where(index < "2024-04-10", 8.0, 2.6) * np.where(is_open, 1.0, 0.05)
    energy = level + np.random.default_rng(7).normal(0, 0.05, len(index)).clip(-0.1, 0.1)
    frame = pd.DataFrame({"time": index.strftime("%Y-%m-%dT%H:%M:%SZ"), "kWh": energy.round(3).clip(0)})
    frame.drop(index=range(900, 930)).to_csv(folder / "m1.csv", index=False)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    store.save(verify_study(folder), store.results_folder(folder))
    return folder


def page(client: Any, address: str, search: str = "") -> str:
    """The router's answer, as the browser asks for it."""
    wanted = [{"id": "masthead", "property": "children"}, {"id": "content", "property": "children"}]
    given = {"place.pathname": address, "place.search": search, "scheme.data": "light"}
    body = {
        "output": "..masthead.children...content.children..",
        "outputs": wanted,
        "inputs": [
            dict(zip(("id", "property"), key.split("."), strict=True)) | {"value": value}
            for key, value in given.items()
        ],
        "changedPropIds": ["place.pathname"],
        "parsedChangedPropsIds": ["place.pathname"],
    }
    answer = client.post("/_dash-update-component", json=body)
    assert answer.status_code == 200
    return json.dumps(answer.get_json(), ensure_ascii=False)


@pytest.mark.parametrize("address", PAGES)
def test_every_page_opens_from_what_a_verification_left(study: Path, address: str) -> None:
    client = create_app(study).server.test_client()
    told = page(client, address)
    assert "This page cannot be shown" not in told
    assert "Two small halls" in told
    assert "has changed since" not in told


def test_the_first_page_tells_the_numbers_of_result_json(study: Path) -> None:
    result = json.loads((study / "results" / "result.json").read_text(encoding="utf-8"))
    told = page(create_app(study).server.test_client(), "/").replace("\u00a0", " ")
    assert "20,000 kWh" in told
    assert result["savings"]["avoided_kwh"] is not None
    for entry in result["cannot_say"]:
        assert json.dumps(plain_name(entry["what"]), ensure_ascii=False).strip('"') in told
    for _, why in unsaid_words(result):
        assert json.dumps(why, ensure_ascii=False).strip('"') in told
    for caution in result["cautions"]:
        assert caution in told


def test_the_result_taken_away_is_the_file_on_disk(study: Path) -> None:
    client = create_app(study).server.test_client()
    assert client.get("/download/result.json").data == (study / "results" / "result.json").read_bytes()


def test_the_page_to_send_is_one_file_without_link_or_script(study: Path) -> None:
    client = create_app(study).server.test_client()
    answer = client.get("/download/proof.html")
    text = answer.data.decode()
    assert answer.status_code == 200
    assert "attachment" in answer.headers["Content-Disposition"]
    assert "20,000 kWh" in text.replace("\u00a0", " ")
    for forbidden in ("<a ", "<script", "<link", "href=", "src="):
        assert forbidden not in text
    assert "/download/proof.html" in page(client, "/")


def test_a_meter_whose_name_begins_like_a_formula_is_harmless_in_a_file(study: Path) -> None:
    client = create_app(study).server.test_client()
    meters = client.get("/numbers/readings.csv?meter=M%3D1").data.decode()
    assert meters.startswith("clock at the site,UTC,mean kW,estimated")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def test_the_served_dashboard_answers_this_computer_and_nobody_else(study: Path) -> None:
    port = free_port()
    code = f"from dashboards import serve; serve({str(study)!r}, port={port}, open_browser=False)"
    process = subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert f"http://127.0.0.1:{port}/" in (process.stdout.readline() if process.stdout else "")
        assert '<html lang="en">' in fetched(port, "127.0.0.1")
        with pytest.raises(urllib.error.HTTPError, match="403"):
            fetched(port, "elsewhere.example")
    finally:
        process.terminate()
        process.communicate(timeout=10)


def fetched(port: int, host: str) -> str:
    """The first page, asked for under a name; waits until the server listens."""
    ends = time.monotonic() + 20
    request = urllib.request.Request(f"http://127.0.0.1:{port}/", headers={"Host": f"{host}:{port}"})
    while True:
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:
                return str(answer.read().decode())
        except urllib.error.HTTPError as refusal:
            refusal.close()
            raise
        except urllib.error.URLError:
            if time.monotonic() > ends:
                raise
            time.sleep(0.1)
