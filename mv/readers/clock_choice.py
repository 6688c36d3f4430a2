"""Which clock the stamps follow, by the study, the file's words, or the clock changes they live through."""

import numpy as np

from mv.base.errors import ReadingError
from mv.base.ledger import Remark
from mv.readers.counted_days import counted_evidence
from mv.readers.intervals import ordered
from mv.readers.parsed import Parsed
from mv.readers.stamp_record import DAY_SECONDS, EPOCH_SHAPE, NO_OFFSET
from mv.readers.wall_clock import (
    ClockEvidence,
    Wall,
    changes_within,
    checked_clock,
    clock_evidence,
    clock_in_words,
    offset_text,
    standard_offset,
)  # fmt: skip
from mv.readers.wanted import Wanted


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
        counts = all(EPOCH_SHAPE in file.stamps.shapes for file in group)
        return "UTC", "seconds since 1970 are UTC" if counts else "each stamp carries its offset from UTC"
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
        _remark_unproven(group[0], wanted)
        return "site", f"no clock change of {zone} falls inside the readings; the site's clock is taken"
    follows = ignores = 0
    example = ""
    for file, wall in zip(group, walls, strict=True):
        if file.interval_seconds is None or file.interval_seconds > 2 * 3600:
            continue
        seen = _evidence(file, wall, zone)
        follows, ignores = follows + seen.follows, ignores + seen.ignores
        example = example or seen.example
    if ignores > follows:
        return _fixed_clock(group[0], wanted, everything, example)
    if follows:
        return "site", f"the stamps follow {follows} clock change(s) of {zone}"
    _remark_unproven(group[0], wanted)
    return "site", f"no reading stands at a clock change of {zone}; the site's clock is taken"


def _remark_unproven(file: Parsed, wanted: Wanted) -> None:
    """Nothing contradicts the site's clock, and nothing proves it."""
    if wanted.purpose != "meter" or (file.interval_seconds or 0) >= DAY_SECONDS:
        return
    file.remarks.append(
        Remark(
            "clock-unproven",
            f"nothing in the file says which clock its stamps follow, and no reading lies across a clock "
            f"change of {wanted.site_timezone}; the site's clock is taken",
            file=file.name,
            remedy=f'If the logger kept another clock, set clock in {wanted.table} (such as "UTC" or '
            '"-06:00"); "site" confirms the site\'s clock.',
        )
    )


def _evidence(file: Parsed, wall: Wall, zone: str) -> ClockEvidence:
    """How the stamps stand to the clock changes; interval ends are written as moments by some
    exports and as start plus length by others, so the better of both readings counts."""
    step = file.interval_seconds or 0
    if file.ordinal is not None:
        return counted_evidence(wall - wall % DAY_SECONDS, file.ordinal, zone, step)
    wall = ordered(wall)
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
