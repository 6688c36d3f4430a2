"""Keeps a verification on disk and opens it again.

`result.json` is the answer. Beside it stands one `series-<digest>.npz` with what the figures are drawn
from, named after the result it belongs to; it is written first, so that a result.json never stands
without its series and an interrupted run leaves the former pair intact.
"""

import hashlib
import io
import json
import re
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from pydantic import TypeAdapter

from mv.base.errors import StudyError
from mv.base.files import refuse_file_for_folder, write_whole
from mv.base.ledger import Ledger
from mv.base.locking import held
from mv.base.series import MeterSeries
from mv.base.study_records import Study
from mv.base.verification import Verification
from mv.study import study_path

RESULT_FILE = "result.json"
LOCK_FILE = ".writing.lock"  # one writer at a time, lest one tidies away what another has just written
QUICK = 1  # of zlib's levels: a fifth larger than its usual one, in half the time
_LEDGER = TypeAdapter(Ledger)


def results_folder(study_or_folder: Path | str) -> Path:
    """Where `verify` writes unless told otherwise: `results/` beside the study."""
    return study_path(study_or_folder).parent / "results"


def result_text(result: Mapping[str, Any]) -> str:
    """result.json's text; NaN and infinity are refused, for JSON has neither."""
    return json.dumps(result, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def save(verification: Verification, folder: Path) -> Path:
    """Write the verification into `folder`; returns the path of result.json."""
    refuse_file_for_folder(folder)
    text = result_text(verification.result)
    series, path = folder / _series_name(text), folder / RESULT_FILE
    packed = _packed(verification)
    with held(folder / LOCK_FILE):
        write_whole(series, packed)
        write_whole(path, text)
        for old in folder.glob("series-*.npz"):
            if old != series:
                old.unlink(missing_ok=True)
    return path


def open_results(study_or_folder: Path | str, folder: Path | None = None) -> Verification:
    """The last verification of a study. Raises StudyError when there is none that is whole."""
    folder = folder or results_folder(study_or_folder)
    remedy = f"Run: tallylux verify {study_or_folder}"
    try:
        result, packed = _pair(folder)
        with packed:
            return _unpacked(result, packed, study_path(study_or_folder).parent)
    except FileNotFoundError:
        raise StudyError("holds no verification yet", file=folder, remedy=remedy) from None
    except (OSError, ValueError, KeyError) as error:
        raise StudyError(
            "the stored verification cannot be read", file=folder, value=error, remedy=remedy
        ) from None


def _pair(folder: Path) -> tuple[dict[str, Any], Any]:
    """The result and its opened series; read again where a writer replaced them in between."""
    text = (folder / RESULT_FILE).read_text(encoding="utf-8")
    while True:
        result = json.loads(text)
        try:
            return result, np.load(folder / _series_name(text), allow_pickle=False)
        except FileNotFoundError:
            before, text = text, (folder / RESULT_FILE).read_text(encoding="utf-8")
            if text == before:
                raise


def _series_name(text: str) -> str:
    """Named for all of result.json's text but the line that says when it was made."""
    lasting = re.sub(r'^ "made_at": .*\n', "", text, count=1, flags=re.MULTILINE)
    return f"series-{hashlib.sha256(lasting.encode()).hexdigest()[:12]}.npz"


def _packed(verification: Verification) -> bytes:
    arrays: dict[str, np.ndarray[Any, Any]] = {
        "meters": np.array(list(verification.meters)),
        **_floats_apart("daily", verification.daily),
        "drift_days": _text(verification.drift_days.to_csv(index=False, lineterminator="\n")),
        "settings": _text(verification.settings_by_month.to_csv(index=False, lineterminator="\n")),
    }
    for number, series in enumerate(verification.meters.values()):
        index = series.energy_kwh.index
        first = index[0].isoformat() if len(index) else ""
        arrays[f"{number}.grid"] = np.array([first, repr(series.interval_minutes)])
        arrays[f"{number}.energy_kwh"] = series.energy_kwh.to_numpy()
        arrays[f"{number}.estimated"] = series.estimated.to_numpy(dtype=bool)
        if series.faults is not None:
            arrays[f"{number}.faults"] = series.faults.to_numpy(dtype=np.int8)
            arrays[f"{number}.fault_names"] = np.array(series.fault_names, dtype=np.str_)
        arrays[f"{number}.ledger"] = _text(_LEDGER.dump_json(series.ledger).decode())
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=QUICK) as archive:
        for name, array in arrays.items():
            with archive.open(f"{name}.npy", "w") as file:
                np.lib.format.write_array(file, array, allow_pickle=False)
    return stream.getvalue()


def _unpacked(result: Mapping[str, Any], packed: Any, folder: Path) -> Verification:
    study = Study.model_validate(result["study"]).model_copy(update={"folder": folder})
    names = [str(name) for name in packed["meters"]]
    return Verification(
        study=study,
        result=result,
        meters={name: _meter(name, number, packed) for number, name in enumerate(names)},
        daily=_with_floats("daily", packed, parse_dates=["day"]),
        drift_days=_drift_days(packed),
        settings_by_month=pd.read_csv(io.StringIO(_string(packed["settings"])), dtype={"month": "str"}),
    )


def _floats_apart(name: str, table: pd.DataFrame) -> dict[str, np.ndarray[Any, Any]]:
    """A table as the text of its other columns, its columns of numbers, and the order of all: numbers take
    most of the time that a text costs.
    """
    numbers = table.select_dtypes("float64")
    others = table.drop(columns=numbers.columns)
    return {
        name: _text(others.to_csv(index=False, lineterminator="\n")),
        f"{name}.columns": np.array(list(table.columns), dtype=np.str_),
        f"{name}.numbers": np.array(list(numbers.columns), dtype=np.str_),
        f"{name}.values": numbers.to_numpy(dtype=np.float64).T,
    }


def _with_floats(name: str, packed: Any, *, parse_dates: list[str]) -> pd.DataFrame:
    others = pd.read_csv(io.StringIO(_string(packed[name])), parse_dates=parse_dates)
    names = [str(column) for column in packed[f"{name}.numbers"]]
    numbers = pd.DataFrame(dict(zip(names, packed[f"{name}.values"], strict=True)), index=others.index)
    return pd.concat([others, numbers], axis=1)[[str(column) for column in packed[f"{name}.columns"]]]


def _drift_days(packed: Any) -> pd.DataFrame:
    text = _string(packed["drift_days"])
    return pd.read_csv(io.StringIO(text), dtype={"finding": "str"}, parse_dates=["day"])


def _meter(name: str, number: int, packed: Any) -> MeterSeries:
    first, minutes = (str(part) for part in packed[f"{number}.grid"])
    energy = packed[f"{number}.energy_kwh"]
    step = pd.Timedelta(minutes=float(minutes))
    start = pd.Timestamp(first).tz_convert("UTC") if first else pd.Timestamp(0, tz="UTC")
    index = pd.date_range(start, periods=len(energy), freq=step)
    told = f"{number}.faults" in packed
    return MeterSeries(
        meter=name,
        interval_minutes=float(minutes),
        energy_kwh=pd.Series(energy, index=index),
        estimated=pd.Series(packed[f"{number}.estimated"], index=index),
        ledger=_LEDGER.validate_json(_string(packed[f"{number}.ledger"])),
        faults=pd.Series(packed[f"{number}.faults"], index=index) if told else None,
        fault_names=tuple(map(str, packed[f"{number}.fault_names"])) if told else (),
    )


def _text(text: str) -> np.ndarray[Any, Any]:
    return np.frombuffer(text.encode("utf-8"), dtype=np.uint8)


def _string(array: np.ndarray[Any, Any]) -> str:
    return array.tobytes().decode("utf-8")
