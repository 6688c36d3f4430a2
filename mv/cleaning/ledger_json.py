"""The ledger as the `cleaning` entry of result.json."""

from mv.base.ledger import Ledger


def ledger_as_json(ledger: Ledger) -> dict[str, object]:
    """The interface's keys, and what a reader drills down to: remarks, files and lines."""
    return {
        "meter": ledger.meter,
        "rows_read": ledger.rows_read,
        "rows_used": ledger.rows_used,
        "set_aside": dict(ledger.set_aside),
        "estimated_rows": ledger.estimated_rows,
        "energy_read_kwh": ledger.energy_read_kwh,
        "energy_used_kwh": ledger.energy_used_kwh,
        "coverage_baseline": ledger.coverage_baseline,
        "coverage_reporting": ledger.coverage_reporting,
        "inferred": dict(ledger.inferred),
        "filled_intervals": ledger.filled_intervals,
        "energy_filled_kwh": ledger.energy_filled_kwh,
        "remarks": [
            {
                "code": remark.code,
                "what": remark.what,
                "file": remark.file,
                "lines": remark.lines,
                "remedy": remark.remedy,
            }
            for remark in ledger.remarks
        ],
        "files": [
            {
                "name": account.name,
                "rows_read": account.rows_read,
                "rows_used": account.rows_used,
                "set_aside": dict(account.set_aside),
            }
            for account in ledger.files
        ],
        "set_aside_lines": {reason: dict(where) for reason, where in ledger.set_aside_lines.items()},
    }
