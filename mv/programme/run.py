"""A portfolio: many studies in, one folder of results, tables and summary out.

    DIR/studies/<name>/   result.json, its series, and record.json, which says what they were made from
    DIR/portfolio.parquet one row a study;  DIR/meters.parquet one row a meter
    DIR/summary.json      pooled savings, realisation by group, worst findings, what is broken

Each file is written whole. A run that is interrupted, or repeated, does only what is not there yet or has
changed since.
"""

import hashlib
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from mv import __version__
from mv.base.errors import InputError, OutputError
from mv.base.files import refuse_file_for_folder, tidy, write_whole
from mv.base.locking import BusyError, held
from mv.portfolio import BrokenStudy, Outcome, StudyRecord, meters_parquet, studies_parquet, summary_of
from mv.programme.crews import cluster_results, local_results
from mv.programme.places import StudyPlace, find_studies
from mv.programme.store import MADE_FROM, METERS_FILE, STUDIES_FILE, STUDIES_FOLDER, SUMMARY_FILE
from mv.programme.work import Done, Task, kept_record
from mv.progress import Step, no_progress
from mv.store import result_text

LOCK_FILE = ".portfolio.lock"


@dataclass(frozen=True)
class PortfolioRun:
    """A finished run. `fresh` studies were verified now, the others kept from before."""

    summary: dict[str, Any]
    folder: Path
    fresh: int

    @property
    def all_accepted(self) -> bool:
        """Whether every study was verified and met its acceptance tests."""
        studies = self.summary["studies"]
        return bool(studies["accepted"] == studies["found"])


def run_portfolio(
    named: Sequence[Path | str],
    out: Path,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    step: Step = no_progress,
) -> PortfolioRun:
    """Verify every study under what is named and write the portfolio into `out`.

    `workers` processes of this computer do it (default: as many as it has processors), or the workers
    of the Dask cluster at `scheduler`. Raises InputError where there is no study, `out` cannot be
    written, another run is at work there, or the cluster cannot be used.
    """
    if workers is not None and workers < 1:
        raise InputError("at least one worker is needed", place="--workers", value=workers)
    refuse_file_for_folder(out)
    places = find_studies(named, without=out)
    out = out.resolve()
    with _alone_in(out):
        for name in (STUDIES_FILE, METERS_FILE, SUMMARY_FILE):
            tidy(out / name, older_than_hours=0.0)  # nobody else is at work here
        tasks = [Task(p.name, p.path, str(out / STUDIES_FOLDER / p.name)) for p in places]
        results = (
            local_results(tasks, workers=workers or _processors())
            if scheduler is None
            else cluster_results(tasks, address=scheduler, out=out)
        )
        done = _collected(results, places, step)
        step("Pooling", 0.99)
        return write_portfolio(out, [one.outcome for one in done], sum(one.fresh for one in done))


def _collected(results: Iterator[Done], places: Sequence[StudyPlace], step: Step) -> list[Done]:
    """Every result in the order of the places."""
    found: dict[str, Done] = {}
    broken = 0
    step(f"0 of {len(places):,} studies", 0.0)
    for done in results:
        found[done.outcome.name] = done
        broken += isinstance(done.outcome, BrokenStudy)
        told = f", {broken:,} broken" if broken else ""
        step(f"{len(found):,} of {len(places):,} studies{told}", 0.98 * len(found) / len(places))
    return [found[place.name] for place in places]


def write_portfolio(out: Path, outcomes: Sequence[Outcome], fresh: int) -> PortfolioRun:
    """Write tables and summary of the outcomes, which are in the order of their paths."""
    tables = {STUDIES_FILE: studies_parquet(outcomes), METERS_FILE: meters_parquet(outcomes)}
    summary = summary_of(
        outcomes,
        gone=_gone(out, {outcome.name for outcome in outcomes}),
        version=__version__,
        made_at=datetime.now(UTC).isoformat(timespec="seconds"),
    )
    summary[MADE_FROM] = {name: hashlib.sha256(table).hexdigest() for name, table in tables.items()}
    for name, table in tables.items():
        write_whole(out / name, table)
    write_whole(out / SUMMARY_FILE, result_text(summary))
    return PortfolioRun(summary, out, fresh)


def _gone(out: Path, names: set[str]) -> list[str]:
    """Studies with a result here that were not found again."""
    former = sorted(path for path in (out / STUDIES_FOLDER).glob("*") if path.name not in names)
    records: list[StudyRecord] = [r for r in map(kept_record, former) if r is not None]
    return [f"{record.title} ({record.path})" for record in sorted(records, key=lambda r: r.path)]


@contextmanager
def _alone_in(out: Path) -> Iterator[None]:
    try:
        with held(out / LOCK_FILE, longest_wait_seconds=0.0):
            yield
    except BusyError:
        raise OutputError(
            "another portfolio run is at work here",
            file=out,
            remedy="Wait until it ends, or choose another folder with --out.",
        ) from None


def _processors() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
