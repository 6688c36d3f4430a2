"""Evidence of a study whose inputs are packed, scattered and alike in name runs again to the same numbers."""

import gzip
import hashlib
import json
import shutil
import tomllib
import zipfile
from pathlib import Path
from types import ModuleType

import pytest
import tomlkit

from mv.cli import main

Result = dict[str, object]


def scattered(small: ModuleType, sample: Path, folder: Path) -> Path:
    """The small study with a zip and a gz of one base name in two folders outside, a log and names of
    many scripts beside it, and an inventory outside."""
    inside = folder / "Łódź – 建物 (β)"
    inside.mkdir(parents=True)
    study: Path = small.small_study(sample, inside)
    first, second = folder / "a" / "mètre 1", folder / "b"
    first.mkdir(parents=True)
    second.mkdir()
    with zipfile.ZipFile(first / "readings.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.write(inside / "meters" / "LP-5.csv", "été.csv")
    (second / "readings.csv.gz").write_bytes(gzip.compress((inside / "meters" / "LP-6.csv").read_bytes()))
    shutil.copy(sample / "motion" / "motion-hall.csv.gz", second / "readings.zip.gz")
    shutil.move(inside / "occupancy.csv", first / "readings.csv")
    shutil.move(inside / "inventory.csv", second / "readings.csv")
    table = tomlkit.parse(study.read_text(encoding="utf-8")).unwrap()
    table["meter"][0]["files"] = ["../a/mètre 1/*.zip"]
    table["meter"][1]["files"] = [str(second / "readings.csv.gz")]
    table["occupancy"]["files"] = ["../a/mètre 1/readings.csv"]
    table["predicted"] = {"annual_kwh": 41000.0, "peak_kw": 1.5}
    stairs = next(zone for zone in table["zone"] if zone["id"] == "stairs")
    stairs["motion"] = [str(second / "readings.zip.gz")]
    study.write_text(tomlkit.dumps(table), encoding="utf-8")
    shutil.rmtree(inside / "meters")
    return study


@pytest.fixture(scope="module")
def package(small: ModuleType, sample_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The claim of the scattered study, moved away from its inputs."""
    folder = tmp_path_factory.mktemp("scattered")
    study = scattered(small, sample_folder, folder / "here")
    assert main(["claim", str(study), "--out", str(folder / "out")]) in (0, 1)
    shutil.rmtree(folder / "here")
    return folder / "out"


def test_the_evidence_alone_gives_the_same_numbers(package: Path, tmp_path: Path) -> None:
    study = package / "evidence" / "study"
    assert main(["verify", str(study), "--out", str(tmp_path)]) in (0, 1)
    first: Result = json.loads((package / "evidence" / "result.json").read_text(encoding="utf-8"))
    again: Result = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))
    for key in ("savings", "predicted", "realisation_rate", "models", "settings", "drift", "money"):
        assert again[key] == first[key], key


def test_every_input_stands_in_the_evidence_with_its_own_bytes(package: Path) -> None:
    study = package / "evidence" / "study"
    first = json.loads((package / "evidence" / "result.json").read_text(encoding="utf-8"))
    wanted = {entry["sha256"] for entry in first["inputs"] if entry["name"] != "study.toml"}
    found = {hashlib.sha256(p.read_bytes()).hexdigest() for p in study.rglob("*") if p.is_file()}
    assert wanted <= found
    names = [str(path) for path in tomllib.loads((study / "study.toml").read_text(encoding="utf-8"))["meter"]]
    assert not [name for name in names if ".." in name]
