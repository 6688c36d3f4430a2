"""The ledger of every meter as a plain table for the evidence."""

import csv
import io

from mv.base.result_parts import rows
from mv.claim.material import Material
from mv.claim.sheet_writer import harmless


def ledger_csv(material: Material) -> str:
    """One line a meter and reason, the used rows among them; the counts of a meter add up to rows read."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(["meter", "what became of the rows", "rows", "lines in the file"])
    for entry in rows(material.result, "cleaning"):
        meter, lines = harmless(entry["meter"]), entry.get("set_aside_lines") or {}
        writer.writerow([meter, "used", entry["rows_used"], ""])
        for reason, count in (entry.get("set_aside") or {}).items():
            where = "; ".join(f"{file}: {text}" for file, text in (lines.get(reason) or {}).items())
            writer.writerow([meter, harmless(f"set aside: {reason}"), count, harmless(where)])
    return stream.getvalue()
