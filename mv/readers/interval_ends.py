"""Whether a stamp is its interval's start or its end."""

from mv.base.ledger import Remark
from mv.readers.parsed import Parsed
from mv.readers.stamp_record import DAY_SECONDS
from mv.readers.wall_clock import (
    Wall,
)  # fmt: skip
from mv.readers.wanted import Wanted


def find_sides(group: list[Parsed], walls: list[Wall], wanted: Wanted) -> None:
    """Start or end of the interval: stated, said by the layout, told by the first and last stamp."""
    told = []
    for file, wall in zip(group, walls, strict=True):
        if file.side is None and file.interval_seconds and len(wall):
            _side_by_midnight(file, wall)
        if file.side is not None:
            told.append(file)
    sides = {file.side for file in told}
    for file in group:
        seen = file.side
        if wanted.stamp:
            file.side, file.side_why = wanted.stamp, "as the study states"
            if seen and seen != wanted.stamp and file.ordinal is None:
                file.remarks.append(
                    Remark(
                        "stamp-contradicted",
                        f"the study states stamp = {wanted.stamp!r}, the file looks like {seen!r}",
                        file=file.name,
                        remedy=f"Check stamp in {wanted.table}: an error moves every reading by one "
                        "interval.",
                    )
                )
        elif seen is None and len(sides) == 1:
            file.side, file.side_why = sides.copy().pop(), "as in another file with the same headings"
        elif seen is None:
            file.side, file.side_why = "start", "by convention: nothing in the file says start or end"
            if wanted.purpose == "meter" and file.interval_seconds and file.interval_seconds >= 900:
                file.remarks.append(_unproven(file, wanted))


def _unproven(file: Parsed, wanted: Wanted) -> Remark:
    return Remark(
        "stamp-unproven",
        "nothing in the file says whether a stamp is its interval's start or end; start is taken",
        file=file.name,
        remedy=f'If the stamps are interval ends, set stamp = "end" in {wanted.table}.',
    )


def _side_by_midnight(file: Parsed, wall: Wall) -> None:
    step = file.interval_seconds or 0
    if step >= DAY_SECONDS and not file.stamps.has_clock:
        file.side, file.side_why = "start", "a date alone names the day that begins with it"
    if step <= 0 or step > DAY_SECONDS // 2:
        return
    if (file.stamps.second == DAY_SECONDS).any():
        file.side, file.side_why = "end", "stamps of 24:00 occur"
        return
    first, last = int(wall.min()) % DAY_SECONDS, int(wall.max()) % DAY_SECONDS
    lead = tail = step
    if file.lengths_if_start is not None and file.lengths_if_end is not None:
        lead = int(file.lengths_if_end[int(wall.argmin())])
        tail = int(file.lengths_if_start[int(wall.argmax())])
    if first == 0 and last == DAY_SECONDS - tail:
        file.side = "start"
        file.side_why = f"the first stamp is 00:00 and the last {_clock_text(last)}"
    elif first == lead and last == 0:
        file.side = "end"
        file.side_why = f"the first stamp is {_clock_text(first)} and the last 00:00"


def _clock_text(second: int) -> str:
    return f"{second // 3600:02d}:{second % 3600 // 60:02d}"
