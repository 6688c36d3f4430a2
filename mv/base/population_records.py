"""[[population]]: loggers that stand for places which were not logged."""

from collections.abc import Sequence
from typing import Annotated

from pydantic import Field

from mv.base.study_fields import Name, Positive, Record

# A logger's connected load may exceed its group's by rounding of the stated figure only.
ROUNDING = 1.001


class Population(Record):
    """One usage group: places with the same use and the same control, of which some were drawn at random.

    `connected_kw` is the group's whole connected load before the retrofit, logged places included;
    `logged_kw` that of each logger's place, in the order of `meters` (None: fixtures x watts_before of
    the zones that the logger's meter feeds).
    """

    id: Name
    meters: Annotated[tuple[Name, ...], Field(min_length=1)]
    places: int = Field(ge=1)
    connected_kw: Positive
    logged_kw: tuple[Positive, ...] | None = None


def population_problems(
    groups: Sequence[Population], meters: Sequence[str], zones_kw: dict[str, float | None]
) -> list[str]:
    """Everything that cannot be so; `zones_kw` is each meter's connected load by its zones."""
    problems = []
    named = [(group.id, meter) for group in groups for meter in group.meters]
    for name, meter in named:
        if meter not in meters:
            problems.append(f"population '{name}' names meter '{meter}', which is not there")
    counted = [meter for _, meter in named]
    for meter in sorted({meter for meter in counted if counted.count(meter) > 1}):
        problems.append(f"meter '{meter}' is counted twice in [[population]]: a logger stands for one group")
    for group in groups:
        problems += _of_group(group, zones_kw)
    return problems


def _of_group(group: Population, zones_kw: dict[str, float | None]) -> list[str]:
    who, loggers = f"population '{group.id}'", len(group.meters)
    if group.places < loggers:
        return [f"{who} has {group.places} places, fewer than its {loggers} loggers"]
    if group.logged_kw is not None and len(group.logged_kw) != loggers:
        given = len(group.logged_kw)
        return [f"{who} gives {given} logged_kw for {loggers} loggers: one each, in the order of meters"]
    loads = logged_kw_of(group, zones_kw)
    silent = [meter for meter, load in loads.items() if not load]
    if silent:
        return [
            f"{who}: the connected load of {', '.join(silent)} is not known: give fixtures and watts_before "
            "of the zones each feeds, or logged_kw"
        ]
    total = sum(load or 0.0 for load in loads.values())
    if total > ROUNDING * group.connected_kw:
        return [
            f"{who}: its loggers' places hold {total:.4g} kW, more than the {group.connected_kw:.4g} kW "
            "of the whole group"
        ]
    return []


def logged_kw_of(group: Population, zones_kw: dict[str, float | None]) -> dict[str, float | None]:
    """Each logger's connected load, kW before the retrofit; None where it is not known."""
    if group.logged_kw is not None:
        return dict(zip(group.meters, group.logged_kw, strict=True))
    return {meter: zones_kw.get(meter) for meter in group.meters}
