"""Part E: what was read, what was set aside and why, and the files' fingerprints."""

from mv.base.document import Block, Prose, Section, grid
from mv.base.result_parts import part, rows
from mv.claim.cells import NONE, energy, share
from mv.claim.material import Json, Material

MOST_REMARKS = 40  # on paper; the workbook has every one


def data_quality(material: Material) -> Section:
    """E: coverage, set-aside rows with their lines, estimated values, raw files with hashes."""
    blocks: list[Block] = [
        Prose(
            "Every row of every file is either used or set aside for a named reason; the sums below balance."
        ),
        _coverage(material),
        _set_aside(material),
    ]
    remarks = _remarks(material)
    if remarks is not None:
        blocks.append(remarks)
    return Section("Data quality", (*blocks, _files(material)), letter="E")


def _coverage(material: Material) -> Block:
    listed = []
    for row in rows(material.result, "cleaning"):
        aside = sum((row.get("set_aside") or {}).values())
        listed.append(
            (
                str(row["meter"]),
                f"{row['rows_read']:,}",
                f"{row['rows_used']:,}",
                f"{aside:,}",
                f"{row.get('estimated_rows') or 0:,}",
                energy(row.get("energy_used_kwh")),
                energy(row.get("energy_filled_kwh")),
                share(row.get("coverage_baseline")),
                share(row.get("coverage_reporting")),
            )
        )
    return grid(
        "Rows, energy and coverage",
        [
            ("meter", "left", 1),
            ("rows read", "right", 1),
            ("used", "right", 1),
            ("set aside", "right", 0.9),
            ("estimated", "right", 1),
            ("kWh used (measured)", "right", 1.2),
            ("kWh filled (modelled)", "right", 1.2),
            ("baseline covered", "right", 1.1),
            ("reporting covered", "right", 1.1),
        ],
        listed,
        note="Estimated: flagged by the utility, or a short gap filled here. Filled is not in measured.",
    )


def _set_aside(material: Material) -> Block:
    listed = []
    for row in rows(material.result, "cleaning"):
        lines = row.get("set_aside_lines") or {}
        for reason, count in (row.get("set_aside") or {}).items():
            where = "; ".join(
                f"{file}: {_shortened(text)}" for file, text in (lines.get(reason) or {}).items()
            )
            listed.append((str(row["meter"]), reason, f"{count:,}", where or NONE))
    if not listed:
        return Prose("No row was set aside.")
    return grid(
        "Rows set aside, with their lines in the file",
        [("meter", "left", 1), ("reason", "left", 2), ("rows", "right", 0.8), ("lines", "left", 4)],
        listed,
    )


def _shortened(lines: str, limit: int = 90) -> str:
    return lines if len(lines) <= limit else f"{lines[:limit].rsplit(',', 1)[0]}, … (all in the workbook)"


def _remarks(material: Material) -> Block | None:
    listed = [
        (str(row["meter"]), str(remark.get("what")), str(remark.get("remedy") or NONE))
        for row in rows(material.result, "cleaning")
        for remark in rows(row, "remarks")
    ]
    if not listed:
        return None
    more = len(listed) - MOST_REMARKS
    return grid(
        "What was noticed",
        [("meter", "left", 1), ("seen", "left", 4), ("remedy", "left", 2.2)],
        listed[:MOST_REMARKS],
        note=f"{more} more are in the workbook." if more > 0 else "",
    )


def _files(material: Material) -> Block:
    return grid(
        "Input files and their fingerprints (SHA-256)",
        [("file", "left", 2.2), ("bytes", "right", 1), ("SHA-256", "left", 4.4)],
        [
            (_name(entry), f"{entry['bytes']:,}", str(entry["sha256"]))
            for entry in rows(material.result, "inputs")
        ],
        note="The same files are in evidence/study, to run again.",
    )


def _name(entry: Json) -> str:
    return str(part(entry, "name"))
