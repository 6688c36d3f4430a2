"""The motion log as each month's file ended: what a later file tells must not alter an older month.

A log ends with its last change. The hours after it are known only when the next file comes, so no
month uses those behind its own last change.
"""

import itertools
from dataclasses import replace

import numpy as np

from mv.controls.motion_age import ages
from mv.controls.zone_table import ZoneRecord


def told_by_month(record: ZoneRecord) -> ZoneRecord:
    """The record with motion unknown behind each month's last change of the log."""
    table, runs = record.table, record.runs
    if runs is None or not len(table):
        return record
    age, age_max = table.age.copy(), table.age_max.copy()
    bounds = [0, *(np.flatnonzero(np.diff(table.month)) + 1).tolist(), len(table)]
    for first, stop in itertools.pairwise(bounds):
        part = table.part(slice(first, stop))
        told = runs.told_until(part.end)
        tail = np.flatnonzero(part.start + part.minutes > told.known_to)
        if len(tail):
            now, longest = ages(told, part.start, part.minutes)
            known = np.isfinite(part.age[tail])
            age[first + tail] = np.where(known, now[tail], np.nan)
            age_max[first + tail] = np.where(known, longest[tail], np.nan)
    return replace(record, table=replace(table, age=age, age_max=age_max))
