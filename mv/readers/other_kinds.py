"""Files of kinds that hold no table of readings, told by their beginnings, with what to do instead."""

import re

from mv.base.errors import ReadingError

_AS_TABLE = "Export the readings as CSV or as a workbook (.xlsx)."
_KINDS = (
    (re.compile(r"%PDF-"), "is a PDF, a picture of a table", _AS_TABLE),
    (re.compile(r"\{\\rtf"), "is a text document (RTF)", "Save the table in it as CSV or as a workbook."),
    (re.compile(r"\s*(?:\{\s*\"|\[\s*[{\[\"])"), "is JSON", _AS_TABLE),
    (
        re.compile(r"LOCATION,[^\n]*\n(?:DESIGN CONDITIONS|TYPICAL/EXTREME|GROUND)", re.IGNORECASE),
        "is a weather file of a typical year (EPW), whose hours never were",
        "For [weather] give the temperature measured at a station near the site in the study's own years, as "
        "CSV with a time and a temperature.",
    ),
    (re.compile(r"\s*(?:\(\s*'|INSERT INTO|CREATE TABLE)", re.IGNORECASE), "is SQL", _AS_TABLE),
)


def refuse_other_kinds(text: str, *, file: str) -> None:
    """Raise ReadingError where the beginning is that of a kind which holds no table of readings."""
    for beginning, what, remedy in _KINDS:
        if beginning.match(text):
            raise ReadingError(what, file=file, place="line 1", remedy=remedy)
