"""What a whole building uses beside its lighting: plugs, processes, heating and cooling."""

import numpy as np

from mv.simulate.arrays import Floats, Ints, autoregressive, stream
from mv.simulate.design import OtherLoad, SiteDesign
from mv.simulate.minute_clock import MinuteClock
from mv.simulate.sky import Sky

BUILDING_MINUTES = 720.0  # time constant of a building's temperature; common practice, no source


def other_power_kw(
    load: OtherLoad, site: SiteDesign, clock: MinuteClock, sky: Sky, busy: Ints, seed: int
) -> Floats:
    """Plug, process and air-conditioning load of the building, kW per minute."""
    usual = float(np.quantile(busy, 0.98)) or 1.0
    use = np.minimum(busy / usual, 1.2)
    running = 0.35 + 0.65 * (use > 0.1)
    felt = 0.4 * sky.air_c + 0.6 * slow_temperature(sky.air_c)
    cooling = load.cooling_kw_per_k * np.clip(felt - load.cooling_above_c, 0, None) * running
    heating = load.heating_kw_per_k * np.clip(load.heating_below_c - felt, 0, None) * running
    rng = stream(seed, "other load")
    drift = autoregressive(rng, clock.days, correlation=site.persistence, sd=load.noise_fraction)
    hourly = autoregressive(rng, clock.n // 60 + 1, correlation=0.5, sd=load.noise_fraction)
    noise = 1.0 + drift[clock.day] + np.repeat(hourly, 60)[: clock.n]
    total: Floats = np.clip((load.base_kw + load.in_use_kw * use) * noise + cooling + heating, 0.0, None)
    return total


def slow_temperature(air_c: Floats) -> Floats:
    """What a building's mass makes of outdoor air: smoothed with a time constant of twelve hours."""
    from scipy.signal import lfilter

    keep = float(np.exp(-1.0 / BUILDING_MINUTES))
    smooth, _ = lfilter([1.0 - keep], [1.0, -keep], air_c, zi=[keep * air_c[0]])
    return np.asarray(smooth, dtype=np.float64)
