"""From one meter's evidence to its chain of energies, by the best way that its data support."""

from mv.base.estimate import CannotSay
from mv.bridge.chain import Chain
from mv.bridge.evidence import MeterEvidence
from mv.bridge.frame import frame, made_ready
from mv.bridge.old_lighting import OldUse, old_load
from mv.bridge.spells import as_value
from mv.bridge.with_motion import chain_with_motion
from mv.bridge.without_motion import chain_without_motion


def meter_chain(meter: MeterEvidence, timezone: str) -> Chain:
    """The chain of one meter; energies that its data do not support are None with a reason."""
    found = as_value(meter.avoided_kwh)
    if found is None:
        why = meter.avoided_kwh.why if isinstance(meter.avoided_kwh, CannotSay) else ""
        return Chain((*(None,) * 6, meter.actual_kwh), {}, (why,) * 7)
    old_kwh = found.value + meter.actual_kwh
    if meter.measures != "lighting":
        why = "a whole-building meter does not show the lighting alone"
        return _ends_only(meter, old_kwh, found.error, why)
    before = _connected(meter, "connected_kw_before")
    after = _connected(meter, "connected_kw_after")
    if not before or after is None or not meter.power_kw.notna().any():
        why = "fixtures and watts of its zones are not in the study, or another meter feeds them too"
        return _ends_only(meter, old_kwh, found.error, why)
    load = old_load(meter.baseline_power_kw, before, quantile_minutes=meter.interval_minutes)
    old = OldUse(old_kwh, found.error, load)
    table = frame(meter, timezone)
    chain = None
    if table is not None:
        chain = chain_with_motion(meter, made_ready(table, meter, timezone), old, after, timezone)
    return chain or chain_without_motion(meter, old, after, timezone)


def _connected(meter: MeterEvidence, name: str) -> float | None:
    loads = [getattr(zone, name) for zone in meter.zones]
    return None if not loads or any(load is None for load in loads) else float(sum(loads))


def _ends_only(meter: MeterEvidence, old_kwh: float, error: float, why: str) -> Chain:
    errors = {"baseline model": (error, *(0.0,) * 6)}
    return Chain((old_kwh, *(None,) * 5, meter.actual_kwh), errors, (why,) * 7)
