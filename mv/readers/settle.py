"""The questions a file leaves open, settled from all files of one layout together.

Day order, whether stamps mark an interval's start or end, the clock they follow and the quantity:
the study's word counts, else evidence in the files, else a refusal that names the key to set.
"""

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.base.raw import Quantity, RawFile
from mv.readers.parsed import NO_VALUE, NOT_NUMBER, SKIPPED_HOUR, Parsed
from mv.readers.stamps import DAY_SECONDS, NO_OFFSET, order_of_pairs, settle_pairs
from mv.readers.unit_names import Unit, unit_of
from mv.readers.wall_clock import (
    ClockEvidence,
    Wall,
    changes_within,
    checked_clock,
    clock_evidence,
    clock_in_words,
    fixed_offset,
    offset_text,
    standard_offset,
    to_utc,
)  # fmt: skip
from mv.readers.wanted import Wanted

NEARLY_ALL = 0.8  # share that shows a custom of the file; common practice, no source
WAVERING_SHARE = 0.05  # of the steps: fewer odd ones are gaps and slips; no source
LARGEST_NUMBER = 1e100  # no meter reads more; sums of more would overflow
REGULAR_SHARE = 0.5  # share of steps of one length that makes a regular log; common practice, no source
REGISTER_RISING = 0.95  # share of rising or level steps of a register; trade practice is 0.99 without resets
FIRST_LOOK = 2000  # readings whose course rules a register out
REGISTER_RATIO = 20.0  # a register stands this far above its usual step; common practice, no source
REGISTER_SURE_RATIO = 500.0  # so far above that less than a day of readings tells; no source
REGISTER_READINGS = 200  # fewer may rise throughout by chance or by construction; no source
REGISTER_DAYS = 3  # energy per interval does not go without a fall for so long; no source


def settle(files: Sequence[Parsed], wanted: Wanted) -> list[RawFile]:
    """Settle every file; those with the same headings lend one another their evidence."""
    settle_orders(files, wanted)
    groups: dict[tuple[str, ...], list[Parsed]] = {}
    for file in files:
        groups.setdefault(file.signature, []).append(file)
    settled = []
    for group in groups.values():
        walls = [wall_of(file) for file in group]
        for file, wall in zip(group, walls, strict=True):
            find_interval(file, wall, wanted)
        find_sides(group, walls, wanted)
        walls = [drop_missing(file, wall) for file, wall in zip(group, walls, strict=True)]
        clock = find_clock(group, walls, wanted)
        settled += [_raw(f, w, clock, wanted) for f, w in zip(group, walls, strict=True)]
    return settled


def settle_orders(files: Sequence[Parsed], wanted: Wanted) -> None:
    """Day before month or after: as stated, by the whole column, or as another file of the layout."""
    told: dict[tuple[str, ...], str] = {}
    open_files = []
    for file in files:
        for stamps in (file.stamps, file.end_stamps):
            if stamps is None or stamps.undecided is None or not stamps.undecided.any():
                continue
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


def wall_of(file: Parsed) -> Wall:
    """Wall-clock seconds since 1970 of the readings; a day's midnight under its own date is mended."""
    wall = file.stamps.day.astype(np.int64)
    wall *= DAY_SECONDS
    wall += file.stamps.second
    if file.ordinal is None and len(wall) > 3:
        _mend_midnights(file, wall)
    return wall


def _mend_midnights(file: Parsed, wall: Wall) -> None:
    """Some exports end each day with 00:00 under the same date; it is the next day's beginning."""
    second = file.stamps.second
    zeros = np.flatnonzero(second == 0)
    if len(zeros) == 0:
        return
    ascending = bool(wall[-1] >= wall[0])
    before = zeros - 1 if ascending else zeros + 1
    inside = (before >= 0) & (before < len(wall))
    rows, before = zeros[inside], before[inside]
    drop = wall[before] - wall[rows]
    late = (drop > 0) & (drop < DAY_SECONDS) & (file.stamps.day[before] == file.stamps.day[rows])
    step = DAY_SECONDS - drop
    late &= step <= 2 * 3600
    if late.sum() >= max(0.9 * len(zeros), 1):
        wall[rows[late]] += DAY_SECONDS
        file.side, file.side_why = "end", "each day runs from its first interval's end to 00:00"
        file.inferred["midnight"] = (
            f"{int(late.sum())} stamps 00:00 follow 23:xx of the same date: taken as the end of that day"
        )


def drop_missing(file: Parsed, wall: Wall) -> Wall:
    """Set aside the readings without a value, whose stamps have told the interval by now."""
    plain = np.abs(file.values) < LARGEST_NUMBER  # false for what is missing, too
    if plain.all():
        return wall
    missing = np.isnan(file.values)
    file.set_aside(NOT_NUMBER, ~plain & ~missing)
    file.set_aside(NO_VALUE, np.isnan(file.values))
    return wall[plain]


def find_interval(file: Parsed, wall: Wall, wanted: Wanted) -> None:
    """The step most readings have; None where there is no such step."""
    if wanted.interval_minutes:
        file.interval_seconds = round(wanted.interval_minutes * 60)
        return
    if file.interval_seconds is not None:
        return
    if file.end_stamps is not None and _lengths(file, wall):
        return
    steps = np.diff(ordered(wall))
    if not bool((steps > 0).all()):
        steps = steps[steps > 0]
    if len(steps) == 0:
        return
    middle = int(np.median(steps[:: max(len(steps) // 1001, 1)]))
    share = float((steps == middle).mean())
    if share < REGULAR_SHARE:
        sizes, counts = np.unique(steps, return_counts=True)
        middle, share = int(sizes[counts.argmax()]), float(counts.max() / len(steps))
    close = np.abs(steps - middle) <= max(0.05 * middle, 1)
    near = float(close.mean())
    if near >= REGULAR_SHARE and near - share > WAVERING_SHARE:
        file.interval_seconds = _even_step(float(steps[close].mean()))
        file.interval_why = "the mean of steps that waver"
    elif share >= REGULAR_SHARE:
        file.interval_seconds = middle
        if share < 1:
            file.interval_why = f"{share:.1%} of the steps"


EVEN_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 300, 360, 600, 900, 1200, 1800, 3600, 7200, 86_400)


def _even_step(seconds: float) -> int:
    """The usual interval a wavering step stands for, where one is within two per cent."""
    nearest = min(EVEN_STEPS, key=lambda step: abs(step - seconds))
    return nearest if abs(nearest - seconds) <= 0.02 * nearest else round(seconds)


def ordered(wall: Wall) -> Wall:
    """The stamps in time order; cheap where they are nearly so."""
    if len(wall) < 2 or bool((wall[1:] >= wall[:-1]).all()):
        return wall
    return np.sort(wall, kind="stable")


def _lengths(file: Parsed, wall: Wall) -> bool:
    end = file.end_stamps
    assert end is not None
    lengths = end.day.astype(np.int64) * DAY_SECONDS + end.second - wall
    lengths = np.where(end.readable, lengths, 0)
    lengths = np.where(lengths < 0, lengths + DAY_SECONDS, lengths)  # an end clock without its own date
    good = lengths[(lengths > 0) & (lengths <= 366 * DAY_SECONDS)]
    if len(good) == 0:
        return False
    sizes, counts = np.unique(good, return_counts=True)
    usual = int(sizes[counts.argmax()])
    file.interval_why = "end less start"
    for short in (1, 60):  # ends written as the last second or minute of the interval
        if (usual + short) % 300 == 0 and usual % 300:
            lengths = np.where(lengths > 0, lengths + short, lengths)
            usual += short
            file.interval_why = (
                f"end less start, the end being the interval's last {'second' if short == 1 else 'minute'}"
            )
            break
    extra = _inclusive_days(wall, lengths, usual, file)
    usual, lengths = usual + extra, np.where(lengths > 0, lengths + extra, lengths)
    file.interval_seconds = usual
    odd = (lengths > 0) & (lengths != usual) & (np.abs(lengths - usual) != 3600)
    if odd.mean() > 0.01:
        file.seconds = np.where(lengths > 0, lengths, usual)
    return True


def _inclusive_days(wall: Wall, lengths: NDArray[np.int64], usual: int, file: Parsed) -> int:
    """Bills name their last day, which belongs to them: a day is added where the next begins a day on."""
    if usual < DAY_SECONDS or usual % DAY_SECONDS or len(wall) < 2:
        return 0
    order = np.argsort(wall, kind="stable")
    gap = wall[order][1:] - (wall[order][:-1] + lengths[order][:-1])
    if float((gap == DAY_SECONDS).mean()) < NEARLY_ALL:
        return 0
    file.interval_why = "start to the last day, which belongs to the period"
    return DAY_SECONDS


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
    if first == 0 and last == DAY_SECONDS - step:
        file.side = "start"
        file.side_why = f"the first stamp is 00:00 and the last {_clock_text(last)}"
    elif first == step and last == 0:
        file.side = "end"
        file.side_why = f"the first stamp is {_clock_text(first)} and the last 00:00"


def _clock_text(second: int) -> str:
    return f"{second // 3600:02d}:{second % 3600 // 60:02d}"


def find_clock(group: list[Parsed], walls: list[Wall], wanted: Wanted) -> tuple[str, str]:
    """The clock the stamps follow, and why; offsets in the stamps make the question idle."""
    zone = wanted.site_timezone
    spans = [wall for wall in walls if len(wall)]
    if not spans:
        return "site", "no readings"
    if wanted.clock:
        clock = checked_clock(wanted.clock, table=wanted.table)
        return clock, "as the study states"
    if group[0].clock:
        return group[0].clock, group[0].clock_why
    if all(file.stamps.offset is not None and (file.stamps.offset != NO_OFFSET).all() for file in group):
        return "UTC", "each stamp carries its offset from UTC"
    everything = np.array([min(int(w.min()) for w in spans), max(int(w.max()) for w in spans)])
    words = " ".join(file.clock_words for file in group)
    if said := clock_in_words(words, zone, everything):
        return said[0], f"the file says {said[1]!r}"
    return _clock_by_changes(group, walls, wanted, everything)


def _clock_by_changes(
    group: list[Parsed], walls: list[Wall], wanted: Wanted, everything: Wall
) -> tuple[str, str]:
    zone = wanted.site_timezone
    changes = changes_within(zone, everything)
    inside = [m for m in changes.moments if everything[0] < m + 12 * 3600 and m - 12 * 3600 < everything[-1]]
    if not inside:
        return "site", f"no clock change of {zone} falls inside the readings; the site's clock is taken"
    follows = ignores = 0
    example = ""
    for file, wall in zip(group, walls, strict=True):
        if file.interval_seconds is None or file.interval_seconds > 2 * 3600 or file.ordinal is not None:
            continue
        seen = _evidence(file, ordered(wall), zone)
        follows, ignores = follows + seen.follows, ignores + seen.ignores
        example = example or seen.example
    if ignores > follows:
        return _fixed_clock(group[0], wanted, everything, example)
    if follows:
        return "site", f"the stamps follow {follows} clock change(s) of {zone}"
    return "site", f"no reading stands at a clock change of {zone}; the site's clock is taken"


def _evidence(file: Parsed, wall: Wall, zone: str) -> ClockEvidence:
    """How the stamps stand to the clock changes; interval ends are written as moments by some
    exports and as start plus length by others, so the better of both readings counts."""
    step = file.interval_seconds or 0
    seen = clock_evidence(wall, zone, step)
    if file.side == "end":
        other = clock_evidence(wall - step, zone, step)
        seen = max(seen, other, key=lambda evidence: evidence.follows - evidence.ignores)
    return seen


def _fixed_clock(file: Parsed, wanted: Wanted, everything: Wall, example: str) -> tuple[str, str]:
    """The stamps run straight through the site's clock change: which fixed clock, no stamp says."""
    zone = wanted.site_timezone
    standard = standard_offset(zone, everything)
    why = f"the stamps run straight through the clock change of {example}, so not by the site's clock"
    if standard == 0:
        return "UTC", f"{why}; the zone's standard time is UTC"
    raise ReadingError(
        f"the stamps run straight through a clock change of {zone}, so they do not follow the site's clock",
        file=file.name,
        place="the stamps from",
        value=example,
        remedy=f'Set clock in {wanted.table}: "UTC", or "{offset_text(standard)}" where the clock kept '
        'standard time all year ("site" if it did follow the change after all).',
    )


def _raw(file: Parsed, wall: Wall, clock: tuple[str, str], wanted: Wanted) -> RawFile:
    """The finished record: quantity, unit and UTC."""
    quantity, unit = _quantity(file, wall, wanted)
    instants = quantity in ("register", "on-off")
    start, impossible, notes = to_utc_starts(file, wall, clock[0], wanted, instants=instants)
    inferred = dict(file.inferred)
    inferred |= {"quantity": quantity[0:], "clock": f"{clock[0]}: {clock[1]}"}
    inferred["quantity"] = f"{quantity}, {unit.name}" + (f": {file.unit_why}" if file.unit_why else "")
    if not instants and file.side:
        inferred["stamp"] = f"{file.side} of the interval: {file.side_why}"
    if file.interval_seconds:
        inferred["interval"] = f"{file.interval_seconds / 60:g} min" + (
            f": {file.interval_why}" if file.interval_why else ""
        )
    if file.stamps.shapes:
        inferred.setdefault("time format", "; ".join(file.stamps.shapes[:4]))
    if (file.interval_seconds or 0) >= DAY_SECONDS and not instants and file.ordinal is None and len(wall):
        start, file.seconds = _whole_days(file, wall, clock[0], wanted)
        inferred["interval"] = "whole days, months or billing periods by the calendar"
    values = file.values if unit.factor == 1.0 else file.values * unit.factor
    if file.factor is not None:
        values = values * file.factor
    arrays: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int32]] = (start, values, file.lines)
    seconds, estimated = file.seconds, file.estimated
    if impossible.any():
        file.unreadable[SKIPPED_HOUR] = file.lines[impossible]
        keep = ~impossible
        arrays = (start[keep], values[keep], file.lines[keep])
        seconds = None if seconds is None else seconds[keep]
        estimated = None if estimated is None else estimated[keep]
    return RawFile(
        name=file.name,
        quantity=quantity,
        unit=unit.inside,
        interval_seconds=file.interval_seconds,
        start=arrays[0],
        value=arrays[1],
        line=arrays[2],
        seconds=seconds,
        estimated=estimated,
        unreadable=file.unreadable,
        inferred=inferred,
        remarks=(*file.remarks, *notes),
    )


def _month_lengths(wall: Wall) -> NDArray[np.int64]:
    """Seconds from each first of a month to the next."""
    months = wall.astype("datetime64[s]").astype("datetime64[M]")
    following = (months + np.timedelta64(1, "M")).astype("datetime64[s]").astype(np.int64)
    first = months.astype("datetime64[s]").astype(np.int64)
    return np.where(first == wall, following - wall, 31 * DAY_SECONDS)


def _whole_days(file: Parsed, wall: Wall, clock: str, wanted: Wanted) -> tuple[Wall, NDArray[np.int64]]:
    """Starts and lengths of readings of days and more, by the calendar: a day in spring has 23 hours,
    and a month lasts until the next one begins."""
    step = file.interval_seconds or DAY_SECONDS
    lengths = file.seconds if file.seconds is not None else np.full(len(wall), step, np.int64)
    if file.seconds is None and step >= 27 * DAY_SECONDS and len(wall) > 1:
        order = np.argsort(wall, kind="stable")
        gaps = np.diff(wall[order])
        lengths = lengths.copy()
        lengths[order] = np.append(gaps, step) if file.side != "end" else np.insert(gaps, 0, step)
        if bool((file.stamps.second == 0).all()) and file.side != "end":
            lengths = np.where(lengths == step, _month_lengths(wall), lengths)
        lengths = np.where((lengths > 27 * DAY_SECONDS) & (lengths < 32 * DAY_SECONDS), lengths, step)
    begin = wall - lengths if file.side == "end" else wall
    offset, fixed = file.stamps.offset, fixed_offset(clock)
    if offset is not None and bool((offset != NO_OFFSET).all()):
        return begin - offset, lengths
    if fixed is not None:
        return begin - fixed, lengths
    zone = wanted.site_timezone if clock == "site" else clock
    start = to_utc(begin, zone)[0]
    return start, to_utc(begin + lengths, zone)[0] - start


def to_utc_starts(
    file: Parsed, wall: Wall, clock: str, wanted: Wanted, *, instants: bool
) -> tuple[Wall, NDArray[np.bool_], list[Remark]]:
    """UTC starts, the readings at times the clock skips, and what there is to remark."""
    none = np.zeros(len(wall), dtype=bool)
    back = 0 if instants or file.side != "end" else file.interval_seconds or 0
    lengths = file.seconds if file.seconds is not None and file.side == "end" else back
    offset = file.stamps.offset
    if offset is not None and (offset != NO_OFFSET).all():
        return wall - offset - lengths, none, []
    fixed = fixed_offset(clock)
    if file.ordinal is not None:
        step = file.interval_seconds or 0
        day = wall - wall % DAY_SECONDS
        if fixed is not None:
            return day - fixed + file.ordinal * step, none, []
        return _counted(day, file.ordinal, step, wanted.site_timezone if clock == "site" else clock)
    if fixed is not None:
        return wall - fixed - lengths, none, []
    zone = wanted.site_timezone if clock == "site" else clock
    if len(wall) == 0:
        return wall, none, []
    utc, impossible, unpaired = to_utc(wall, zone)
    start = utc - lengths
    if back and (impossible.any() or unpaired):
        other, odd, single = to_utc(wall - back, zone)
        if int(odd.sum()) + single < int(impossible.sum()) + unpaired:
            start, impossible, unpaired = other, odd, single
    return start, impossible, _doubled_hour_notes(file, impossible, unpaired, zone, wanted)


def _counted(
    day: Wall, ordinal: NDArray[np.int32], step: int, zone: str
) -> tuple[Wall, NDArray[np.bool_], list[Remark]]:
    """The nth interval of a local day. A day of 23 or 25 hours has fewer or more of them, unless its
    row is filled by the clock: as many cells as on any day, with the skipped hour empty or zero."""
    if len(day) == 0:
        return day, np.zeros(0, bool), []
    days, where = np.unique(day, return_inverse=True)
    midnights = to_utc(np.append(days, days + DAY_SECONDS), zone)[0]
    begins, lengths = midnights[: len(days)], midnights[len(days) :] - midnights[: len(days)]
    start = begins[where] + ordinal.astype(np.int64) * step
    impossible = np.zeros(len(day), dtype=bool)
    for number in np.flatnonzero(lengths != DAY_SECONDS):
        rows = np.flatnonzero(where == number)
        cells = lengths[number] // step
        by_count = int(ordinal[rows].max()) < cells and not (
            lengths[number] > DAY_SECONDS and int(ordinal[rows].max()) < DAY_SECONDS // step
        )
        if not by_count:
            start[rows], impossible[rows], _ = to_utc(day[rows] + ordinal[rows].astype(np.int64) * step, zone)
    return start, impossible, []


def _doubled_hour_notes(
    file: Parsed, impossible: NDArray[np.bool_], unpaired: int, zone: str, wanted: Wanted
) -> list[Remark]:
    notes = []
    if impossible.any():
        notes.append(
            Remark(
                "skipped-hour",
                f"{int(impossible.sum())} readings stand at times that the clock of {zone} skips",
                file=file.name,
                lines=f"from line {int(file.lines[np.argmax(impossible)])}",
                remedy=f'If the clock does not change in spring, set clock in {wanted.table}, e.g. "UTC".',
            )
        )
    if unpaired and file.interval_seconds:
        notes.append(
            Remark(
                "doubled-hour-once",
                f"the hour that comes twice in autumn stands there once ({unpaired} readings); it is taken "
                "as the first pass and the second is missing",
                file=file.name,
            )
        )
    return notes


def _quantity(file: Parsed, wall: Wall, wanted: Wanted) -> tuple[Quantity, Unit]:
    """What the numbers are. The study's word counts; a heading's unit comes next; else refuse."""
    stated_unit = unit_of(wanted.unit) if wanted.unit else None
    if wanted.unit and stated_unit is None:
        raise ReadingError(
            f"unit = {wanted.unit!r} is not a unit",
            place=wanted.table,
            remedy="Give kWh, Wh, MWh, kW, W, A or pulses.",
        )
    if stated_unit and file.unit and file.unit.name != stated_unit.name:
        _remark_unit(file, stated_unit, wanted)
    unit = stated_unit or file.unit
    if stated_unit:
        file.unit_why = "as the study states"
    if wanted.quantity == "on-off" or (wanted.quantity is None and unit is None and _is_state(file)):
        return "on-off", Unit("state", "state", "state")
    if unit is None:
        raise _no_unit(file, wanted)
    if unit.measures not in ("energy", "power", "current", "pulses"):
        raise ReadingError(
            f"the readings are {unit.measures} ({unit.name}), not energy or power",
            file=file.name,
            remedy=f"Set value_column in {wanted.table} to the energy or power, or leave the file out.",
        )
    if wanted.quantity:
        return _stated_quantity(file, unit, wanted)
    if unit.measures == "energy" and _is_register(file, wall):
        file.unit_why += "; a running register: the readings rise throughout and stand far above their steps"
        return "register", unit
    return unit.measures, unit  # type: ignore[return-value]


def _remark_unit(file: Parsed, stated: Unit, wanted: Wanted) -> None:
    assert file.unit is not None
    file.remarks.append(
        Remark(
            "unit-contradicted",
            f"the study states {stated.name}, the file says {file.unit.name} ({file.unit_why})",
            file=file.name,
            remedy=f"Check unit in {wanted.table}.",
        )
    )


def _stated_quantity(file: Parsed, unit: Unit, wanted: Wanted) -> tuple[Quantity, Unit]:
    quantity = wanted.quantity
    needs = {"register": "energy"}.get(str(quantity), quantity)
    if unit.measures != needs:
        raise ReadingError(
            f"quantity = {quantity!r} does not go with the unit {unit.name}",
            file=file.name,
            place=wanted.table,
            remedy="Set quantity and unit to what the column holds.",
        )
    return quantity, unit  # type: ignore[return-value]


def _no_unit(file: Parsed, wanted: Wanted) -> ReadingError:
    return ReadingError(
        "nothing says what the numbers measure",
        file=file.name,
        place=f"line {int(file.lines[0])}" if len(file.lines) else None,
        value=float(file.values[0]) if len(file.values) else None,
        remedy=f'Set quantity and unit in {wanted.table}, e.g. quantity = "energy", unit = "kWh".',
    )


def _is_state(file: Parsed) -> bool:
    return file.state_words and bool(np.isin(file.values, (0.0, 1.0)).all())


def _is_register(file: Parsed, wall: Wall) -> bool:
    """A running total: hardly ever falls, and stands far above its steps (or the heading says so)."""
    values = file.values
    if len(values) < 3:
        return False
    first = np.diff(values[:FIRST_LOOK])
    if max(float((first >= 0).mean()), float((first <= 0).mean())) < REGISTER_RISING:
        return False
    if not bool((wall[1:] >= wall[:-1]).all()):
        values = values[np.argsort(wall, kind="stable")]
    steps = np.diff(values)
    if not (steps > 0).any() or float((steps >= 0).mean()) < REGISTER_RISING:
        return False
    if file.register_words:
        return bool((steps >= 0).all()) or len(values) >= 20
    ratio = float(values.min()) / float(np.median(steps[steps > 0]))
    lasting = int(wall.max()) - int(wall.min()) >= DAY_SECONDS
    if ratio > (REGISTER_RATIO if lasting else REGISTER_SURE_RATIO):
        return True
    many = len(values) >= REGISTER_READINGS
    return (
        many and bool((steps >= 0).all()) and int(wall.max()) - int(wall.min()) >= REGISTER_DAYS * DAY_SECONDS
    )


def moment_text(second: int) -> str:
    """A UTC second for a message."""
    return datetime.fromtimestamp(second, UTC).strftime("%Y-%m-%d %H:%M UTC")
