"""What a contractor might have promised of a simulated zone: near its truth in some parts, far in others."""

import numpy as np

from mv.predicted import InventoryRow
from mv.simulate import ZoneDesign


def promised_row(zone: ZoneDesign, rng: np.random.Generator) -> InventoryRow:
    """One row of an inventory: counts and watts within a tenth, hours and control savings at a guess."""
    return InventoryRow(
        line=2,
        space=zone.id,
        zone=zone.id,
        quantity=round(zone.fixtures * rng.uniform(0.9, 1.1)),
        watts_before=zone.watts_before * rng.uniform(0.95, 1.05),
        watts_after=zone.watts_after * rng.uniform(0.95, 1.05),
        hours_per_year=float(rng.uniform(2000, 6000)),
        control_saving_fraction=float(rng.uniform(0.1, 0.5)),
        standby_watts=float(rng.choice([0.0, 0.5])),
    )
