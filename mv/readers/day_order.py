"""Day before month or after, settled for all files of a layout together."""

from collections.abc import Sequence

from mv.base.errors import ReadingError
from mv.readers.calendar_days import YEARS
from mv.readers.date_order import order_of_pairs, settle_pairs
from mv.readers.parsed import Parsed
from mv.readers.stamp_record import Stamps
from mv.readers.wanted import Wanted


def settle_orders(files: Sequence[Parsed], wanted: Wanted) -> None:
    """Day before month or after: as stated, by the whole column, or as another file of the layout."""
    told: dict[tuple[str, ...], str] = {}
    open_files = []
    for file in files:
        for stamps in (file.stamps, file.end_stamps):
            if stamps is None or stamps.undecided is None or not stamps.undecided.any():
                continue
            _refuse_other_calendar(file, stamps)
            try:
                found = order_of_pairs(stamps)
            except ReadingError as error:
                raise ReadingError(
                    error.what, file=file.name, value=error.value, remedy=error.remedy
                ) from None
            if wanted.date_order:
                _heed_contradiction(file, wanted, found)
                settle_pairs(stamps, wanted.date_order)
            elif found:
                told.setdefault(file.signature, found[0])
                file.inferred["date order"] = f"{found[0]}: {found[1]}"
                settle_pairs(stamps, found[0])
            else:
                open_files.append((file, stamps))
    for file, stamps in open_files:
        order = told.get(file.signature)
        if order is None:
            raise _undecided_order(file, wanted)
        file.inferred["date order"] = f"{order}: as in another file with the same headings"
        settle_pairs(stamps, order)
    for file in files:
        file.set_aside("no such date", ~file.stamps.readable)


def _refuse_other_calendar(file: Parsed, stamps: Stamps) -> None:
    """Years such as 2567 are counted from another beginning (the Buddhist era's, 543 years before)."""
    assert stamps.pair is not None and stamps.undecided is not None
    years = stamps.pair[2][stamps.undecided]
    if int(years.min()) >= YEARS[1]:
        raise ReadingError(
            "the years are not of the calendar read here",
            file=file.name,
            value=int(years[0]),
            remedy="Export the dates with Gregorian years, such as 2024.",
        )


def _heed_contradiction(file: Parsed, wanted: Wanted, found: tuple[str, str] | None) -> None:
    if found and found[0] != wanted.date_order and "only" in found[1]:
        raise ReadingError(
            f"date_order = {wanted.date_order!r} is stated, but the file's dates are not",
            file=file.name,
            value=found[1],
            remedy=f"Take date_order out of {wanted.table} or set it to {found[0]!r}.",
        )


def _undecided_order(file: Parsed, wanted: Wanted) -> ReadingError:
    assert file.stamps.pair is not None or (file.end_stamps and file.end_stamps.pair is not None)
    stamps = file.stamps if file.stamps.pair is not None else file.end_stamps
    assert stamps is not None and stamps.pair is not None
    numbers = "/".join(f"{int(part[0]):02d}" for part in stamps.pair)
    return ReadingError(
        "the dates may be day first or month first, and no row tells",
        file=file.name,
        place=f"line {int(file.lines[0])}",
        value=numbers,
        remedy=f'Set date_order in {wanted.table} to "day first" or "month first".',
    )
