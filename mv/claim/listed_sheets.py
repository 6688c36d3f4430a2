"""Sheets that list: models, settings, findings, data quality, inventory, inputs, what is unsaid, checks."""

from mv.base.result_parts import estimate, rows
from mv.base.unsaid import spoken_name
from mv.claim.checklist import checklist
from mv.claim.material import Material
from mv.claim.sheet_writer import Sheet, address, span

HEAD_ROW, FIRST = 3, 4


def write_models(sheet: Sheet, material: Material) -> None:
    """Coefficients, then statistics and limits, of every model."""
    titles = ["meter", "period", "kind", "name", ">value", ">standard error or limit", ">t, or met", "source"]
    sheet.head(HEAD_ROW, titles, [14, 11, 13, 46, 16, 16, 10, 60])
    row = FIRST
    for model in rows(material.result, "models"):
        lines: list[tuple[object, ...]] = [
            ("form", model["form"], None, None, None, ""),
            *(
                ("coefficient", t["name"], t["coefficient"], t["standard_error"], t.get("t"), "")
                for t in rows(model, "terms")
            ),
            *(
                ("statistic", name, model.get(name), None, None, "")
                for name in ("n", "p", "r2", "cv_rmse", "nmbe", "lag1_autocorrelation", "durbin_watson")
            ),
            *(
                ("limit", t["name"], t.get("value"), t.get("limit"), t.get("passed"), t.get("source"))
                for t in rows(model, "tests")
            ),
            *(("remark", text, None, None, None, "") for text in model.get("findings") or []),
        ]
        for line in lines:
            for column, value in enumerate((model["meter"], model["period"], *line)):
                if value is not None:
                    number = isinstance(value, int | float) and not isinstance(value, bool)
                    sheet.cell(row, column, value, sheet.looks.fine if number else None)
            row += 1


def write_settings(sheet: Sheet, material: Material) -> None:
    """Agreed and seen settings, with their intervals."""
    titles = ["zone", "setting", ">agreed", ">seen", ">low", ">high", "verdict", "since", "why"]
    sheet.head(HEAD_ROW, titles, [18, 18, 10, 10, 10, 10, 12, 12, 80])
    for row, entry in enumerate(rows(material.result, "settings"), FIRST):
        seen = estimate(entry, "observed") or {}
        values = (
            entry["zone"],
            entry["setting"],
            entry.get("commissioned"),
            seen.get("estimate"),
            seen.get("low"),
            seen.get("high"),
            entry["verdict"],
            entry.get("since"),
            entry.get("why"),
        )
        for column, value in enumerate(values):
            if value is not None:
                number = isinstance(value, float)
                sheet.cell(row, column, value, sheet.looks.fine if number else None)


def write_findings(sheet: Sheet, material: Material) -> None:
    """What changed after hand-over."""
    titles = [
        "where",
        "what",
        "since",
        "until",
        ">kWh a month",
        ">low",
        ">high",
        f"{material.currency} a month",
        "likely causes",
        "check first",
    ]
    sheet.head(HEAD_ROW, titles, [16, 60, 12, 12, 13, 12, 12, 13, 50, 60])
    for row, entry in enumerate(rows(material.result, "drift"), FIRST):
        found = estimate(entry, "kwh_per_month") or {}
        values = (
            entry["where"],
            entry["what"],
            entry.get("since"),
            entry.get("until"),
            found.get("estimate"),
            found.get("low"),
            found.get("high"),
            entry.get("cost_per_month"),
            "; ".join(entry.get("likely_causes") or []),
            " ".join(entry.get("check_first") or []),
        )
        for column, value in enumerate(values):
            if value is not None:
                sheet.cell(row, column, value)


def write_quality(sheet: Sheet, material: Material) -> None:
    """Rows read, used and set aside, whose balance is a formula; then each reason with its lines."""
    titles = [
        "meter",
        ">rows read",
        ">rows used",
        ">set aside",
        ">balance (must be 0)",
        ">estimated",
        ">kWh used (measured)",
        ">kWh filled (modelled)",
        ">baseline covered",
        ">reporting covered",
    ]
    sheet.head(HEAD_ROW, titles, [18, 12, 12, 12, 12, 11, 15, 15, 11, 11])
    entries = rows(material.result, "cleaning")
    for row, entry in enumerate(entries, FIRST):
        sheet.text(row, 0, entry["meter"])
        aside = float(sum((entry.get("set_aside") or {}).values()))
        for column, value in enumerate((float(entry["rows_read"]), float(entry["rows_used"]), aside), 1):
            sheet.number(row, column, value, sheet.looks.whole)
        read, used, out = (address(row, column, fixed=False) for column in (1, 2, 3))
        sheet.formula(row, 4, f"={read}-{used}-{out}", 0.0, sheet.looks.whole)
        sheet.number(row, 5, float(entry.get("estimated_rows") or 0), sheet.looks.whole)
        sheet.number(row, 6, entry.get("energy_used_kwh"))
        sheet.number(row, 7, entry.get("energy_filled_kwh"))
        for column, key in ((8, "coverage_baseline"), (9, "coverage_reporting")):
            sheet.number(row, column, entry.get(key), sheet.looks.share)
    row = FIRST + len(entries) + 1
    for column, title in enumerate(("meter", "reason", "rows", "lines in the file")):
        sheet.text(row, column, title, sheet.looks.head)
    for entry in entries:
        lines = entry.get("set_aside_lines") or {}
        for reason, count in (entry.get("set_aside") or {}).items():
            row += 1
            where = "; ".join(f"{file}: {text}" for file, text in (lines.get(reason) or {}).items())
            sheet.text(row, 0, entry["meter"])
            sheet.text(row, 1, reason)
            sheet.number(row, 2, float(count), sheet.looks.whole)
            sheet.text(row, 3, where)


def write_inventory(sheet: Sheet, material: Material) -> None:
    """The stated fixtures with connected loads by formula."""
    titles = [
        "space",
        "zone",
        ">fixtures",
        ">W before",
        ">W after",
        ">hours a year",
        ">control saving",
        ">kW before",
        ">kW after",
    ]
    sheet.head(HEAD_ROW, titles, [34, 18, 10, 10, 10, 12, 12, 12, 12])
    for row, item in enumerate(material.spaces, FIRST):
        sheet.text(row, 0, item.space)
        sheet.text(row, 1, item.zone)
        numbers = (item.quantity, item.watts_before, item.watts_after, item.hours_per_year)
        for column, value in enumerate(numbers, 2):
            sheet.number(row, column, value, sheet.looks.whole)
        sheet.number(row, 6, item.control_saving_fraction, sheet.looks.share)
        for column, watts, source in ((7, item.watts_before, 3), (8, item.watts_after, 4)):
            cells = address(row, 2, fixed=False), address(row, source, fixed=False)
            sheet.formula(row, column, f"={cells[0]}*{cells[1]}/1000", item.quantity * watts / 1000)
    last = FIRST + len(material.spaces)
    sheet.text(last, 0, "all", sheet.looks.total)
    sums = {
        2: sum(i.quantity for i in material.spaces),
        7: sum(i.quantity * i.watts_before for i in material.spaces) / 1000,
        8: sum(i.quantity * i.watts_after for i in material.spaces) / 1000,
    }
    for column, value in sums.items():
        look = sheet.looks.total if column == 2 else sheet.looks.total_exact
        sheet.formula(last, column, f"=SUM({span(FIRST, last - 1, column)})", value, look)


def write_inputs(sheet: Sheet, material: Material) -> None:
    """Files and fingerprints."""
    sheet.head(HEAD_ROW, ["file", ">bytes", "SHA-256"], [48, 14, 70])
    for row, entry in enumerate(rows(material.result, "inputs"), FIRST):
        sheet.text(row, 0, entry["name"])
        sheet.number(row, 1, float(entry["bytes"]), sheet.looks.whole)
        sheet.text(row, 2, entry["sha256"])


def write_unsaid(sheet: Sheet, material: Material) -> None:
    """What the data do not support, and the cautions."""
    sheet.head(HEAD_ROW, ["what", "why"], [44, 110])
    row = FIRST
    for entry in rows(material.result, "cannot_say"):
        sheet.long_text(row, 0, spoken_name(str(entry["what"])), 44)
        sheet.long_text(row, 1, str(entry["why"]), 110)
        row += 1
    row += 1
    sheet.text(row, 0, "Cautions", sheet.looks.head)
    for caution in material.result.get("cautions") or []:
        row += 1
        sheet.long_text(row, 1, str(caution), 110)


def write_checklist(sheet: Sheet, material: Material) -> None:
    """Contents and completeness, parts A to J."""
    sheet.head(HEAD_ROW, ["part", "asked for", "here", "whose task", "to do"], [7, 60, 10, 14, 90])
    for row, item in enumerate(checklist(material), FIRST):
        owner = item.who if item.todo else ""
        for column, value in enumerate((item.part, item.what, item.state, owner, item.todo)):
            sheet.text(row, column, value)
