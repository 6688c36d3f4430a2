"""A study of two meters of the invented sample, small enough to verify in a few seconds."""

import shutil
from pathlib import Path
from typing import Any

import tomlkit

HOSTILE = "<script>alert(1)</script>"
FORMULA = "=1+1"
KEPT_METERS = ("LP-5", "LP-6")
ADDED_FROM, ADDED_KWH = "2024-09-02", 0.8  # a load added to LP-5, so that there is something to find


def small_study(sample: Path, folder: Path, **changes: Any) -> Path:
    """Write the small study into `folder`; `changes` replace or add top-level tables."""
    shutil.copytree(sample / "meters", folder / "meters")
    for path in folder.glob("meters/*"):
        if not path.name.startswith(KEPT_METERS):
            path.unlink()
    _add_load(folder / "meters" / "LP-5.csv")
    for name in ("occupancy.csv", "inventory.csv"):
        shutil.copy(sample / name, folder / name)
    table = tomlkit.parse((sample / "study.toml").read_text(encoding="utf-8")).unwrap()
    table["meter"] = [meter for meter in table["meter"] if meter["id"] in KEPT_METERS]
    table["zone"] = [zone for zone in table["zone"] if zone["meter"] in KEPT_METERS]
    table["event"] = []
    table["predicted"] = {"annual_kwh": 41000.0, "peak_kw": 1.5}
    table |= changes
    path = folder / "study.toml"
    path.write_text(tomlkit.dumps(table), encoding="utf-8")
    return path


def _add_load(path: Path) -> None:
    """Every reading from ADDED_FROM on grows by ADDED_KWH."""
    lines = path.read_text(encoding="utf-8").splitlines()
    for number, line in enumerate(lines):
        stamp, _, value = line.rpartition(",")
        if stamp[:10] >= ADDED_FROM and stamp[:1].isdigit():
            lines[number] = f"{stamp},{float(value) + ADDED_KWH:.4f}"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
