"""Each setting, month by month, from that month's own days."""

import numpy as np
import pandas as pd

from mv.base.setting_records import MONTHLY_COLUMNS

Row = tuple[str, str, float | bool | None, float | None, float | None, str | None]


def month_name(month: int) -> str:
    """ "YYYY-MM" of a month number (year x 12 + month - 1)."""
    return f"{month // 12:04d}-{month % 12 + 1:02d}"


def monthly_table(rows: list[Row]) -> pd.DataFrame:
    """The long table in order of setting and month."""
    table = pd.DataFrame(rows, columns=list(MONTHLY_COLUMNS))
    table["estimate"] = table["estimate"].astype(object)
    for name in ("low", "high"):
        table[name] = table[name].astype(np.float64)
    return table.sort_values(["setting", "month"], ignore_index=True)
