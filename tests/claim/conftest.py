"""One small study full of hostile names, its claim made once by the command line."""

import importlib.util
import json
import os
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import openpyxl
import pytest

from mv.cli import main

HOSTILE, FORMULA, COMMAND = "<script>alert(1)</script>", "=1+1", '@SUM(A1)|cmd "x"'
CLAIM = {
    "programme": FORMULA,
    "application": COMMAND,
    "site_address": HOSTILE,
    "owner": {"name": HOSTILE, "contact": "+1 555 0100"},
    "contractor": {"name": "Invented contractor", "contact": "#set page(fill: red)"},
    "option": "B",
    "commissioned": "2024-02-20",
    "instrument": [{"meter": "@LP", "kind": "-2+3", "accuracy": "1 %", "calibrated": "2023-11-01"}],
    "controls": [
        {"zone": HOSTILE, "sequence": "on by motion", "tested": "2024-02-19", "signed_by": FORMULA},
        {"zone": "attic"},
    ],
    "attachment": [
        {"kind": "invoice", "file": "papers/in voice <1>.txt"},
        {"kind": "permit", "file": "papers/not-there.pdf"},
    ],
}


@dataclass(frozen=True)
class Made:
    """A claim that the command line made."""

    study: Path
    folder: Path
    code: int

    @property
    def result(self) -> dict[str, Any]:
        """The result in the evidence."""
        return dict(json.loads((self.folder / "evidence" / "result.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def small() -> ModuleType:
    """The module that writes the small study."""
    spec = importlib.util.spec_from_file_location("small_study", Path(__file__).with_name("small_study.py"))
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def hostile_tables(sample: Path) -> dict[str, Any]:
    """The sample's two meters and zones under names that differ in case alone or try to be markup."""
    import tomllib

    table = tomllib.loads((sample / "study.toml").read_text(encoding="utf-8"))
    names = {"LP-5": "@lp", "LP-6": "@LP"}
    meters = [meter for meter in table["meter"] if meter["id"] in names]
    zones = [zone for zone in table["zone"] if zone["meter"] in names]
    zones[0]["id"] = HOSTILE
    for zone in zones:
        zone["meter"] = names[zone["meter"]]
    for meter in meters:
        meter["id"] = names[meter["id"]]
        meter["zones"] = [zone["id"] for zone in zones if zone["meter"] == meter["id"]]
    site = {**table["site"], "name": f"{HOSTILE} & {FORMULA}"}
    study = {**table["study"], "title": "=HYPERLINK(1)"}
    return {"meter": meters, "zone": zones, "site": site, "study": study, "claim": CLAIM}


@pytest.fixture(scope="session")
def made(small: ModuleType, sample_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The claim of the hostile study."""
    folder = tmp_path_factory.mktemp("claim")
    (folder / "study").mkdir()
    study = small.small_study(sample_folder, folder / "study", **hostile_tables(sample_folder))
    (folder / "study" / "papers").mkdir()
    (folder / "study" / "papers" / "in voice <1>.txt").write_text("paid")
    return Made(study, folder / "out", main(["claim", str(study), "--out", str(folder / "out")]))


PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


@pytest.fixture(scope="session")
def recalculated(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path], Any]:
    """Recalculates a workbook in LibreOffice; mode 0 makes it work out every formula on loading."""
    program = shutil.which("soffice") or shutil.which("libreoffice")
    if program is None and os.environ.get("CI") == "true":
        pytest.fail("LibreOffice is not installed: apt-get install libreoffice-calc")
    if program is None:
        pytest.skip("LibreOffice is not installed, so no workbook can be recalculated here")
    folder = tmp_path_factory.mktemp("office")
    (folder / "profile" / "user").mkdir(parents=True)
    (folder / "profile" / "user" / "registrymodifications.xcu").write_text(PROFILE)

    def recalculate(path: Path) -> Any:
        out = folder / path.stem
        words = [program, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless"]
        words += ["--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(out), str(path)]
        subprocess.run(words, check=True, capture_output=True, timeout=180)
        return openpyxl.load_workbook(out / path.name, data_only=True)

    return recalculate
