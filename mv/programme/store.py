"""Opens what a portfolio run has left: the summary and its table of studies."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import pandas as pd

from mv.base.errors import StudyError

SUMMARY_FILE, STUDIES_FILE, METERS_FILE = "summary.json", "portfolio.parquet", "meters.parquet"
STUDIES_FOLDER = "studies"
MADE_FROM = "tables_sha256"  # of the tables that were written with a summary


@dataclass(frozen=True)
class StoredPortfolio:
    """One row a study in `studies`; `of_one_run` is False where an interrupted run left a newer table."""

    folder: Path
    summary: Mapping[str, Any]
    studies: pd.DataFrame
    of_one_run: bool


def is_portfolio(folder: Path) -> bool:
    """Whether a portfolio run has written into the folder."""
    return (folder / SUMMARY_FILE).is_file() and (folder / STUDIES_FILE).is_file()


def open_portfolio(folder: Path) -> StoredPortfolio:
    """The last portfolio. Raises StudyError where there is none that can be read."""
    remedy = f"Run: tallylux portfolio FOLDER... --out {folder}"
    try:
        summary = json.loads((folder / SUMMARY_FILE).read_text(encoding="utf-8"))
        packed = (folder / STUDIES_FILE).read_bytes()
        studies = pd.read_parquet(BytesIO(packed))
        same = hashlib.sha256(packed).hexdigest() == summary[MADE_FROM][STUDIES_FILE]
    except FileNotFoundError:
        raise StudyError("holds no portfolio yet", file=folder, remedy=remedy) from None
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise StudyError(
            "the stored portfolio cannot be read", file=folder, value=error, remedy=remedy
        ) from None
    return StoredPortfolio(folder, summary, studies, same)


def study_folder(folder: Path, name: str) -> Path | None:
    """The results of one study of the portfolio, by its name; None where there are none."""
    place = folder / STUDIES_FOLDER / name
    inside = place.parent == folder / STUDIES_FOLDER and name not in ("", ".", "..")
    return place if inside and (place / "result.json").is_file() else None
