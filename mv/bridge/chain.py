"""The chain of energies of one meter, from the old lighting to what was metered.

Stated order, each measure switched on while the earlier ones stay on:
old lighting -> lamp and fixture change -> high trim -> occupancy sensing -> daylight dimming ->
scheduling -> standby = metered. A step is the energy before it less the energy after it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.bridge.spells import two_sided_normal

LAMPS = "lamp and fixture change"
TRIM = "high trim"
OCCUPANCY = "occupancy sensing"
DAYLIGHT = "daylight dimming"
SCHEDULE = "scheduling"
STANDBY = "standby"
MEASURES = (LAMPS, TRIM, OCCUPANCY, DAYLIGHT, SCHEDULE, STANDBY)


@dataclass(frozen=True)
class Chain:
    """Energies of one meter, kWh, after each measure; None where it cannot be told.

    `energy[k]` is the energy with the first k measures on; `energy[0]` the old lighting,
    `energy[6]` the metered use. `errors` names each independent source of doubt and what one
    standard error of it does to each energy (same length; 0 where the energy is None). `why`
    says of each energy what it was worked out from, or why it cannot be told.
    """

    energy: tuple[float | None, ...]
    errors: Mapping[str, tuple[float, ...]]
    why: tuple[str, ...]

    def step(self, number: int, confidence: float) -> Answer:
        """The saving of measure `number` (1 to 6), kWh."""
        return self.steps(number, number, confidence)

    def steps(self, first: int, last: int, confidence: float) -> Answer:
        """The saving of the measures `first` to `last` (1 to 6) together, kWh.

        Their doubts largely cancel where one measure takes back what another costs.
        """
        before, after = self.energy[first - 1], self.energy[last]
        if before is None or after is None:
            missing = last if after is None else first - 1
            return CannotSay(" + ".join(MEASURES[first - 1 : last]), self.why[missing])
        variance = sum((source[first - 1] - source[last]) ** 2 for source in self.errors.values())
        half = two_sided_normal(confidence) * variance**0.5
        saved = before - after
        return Estimate(saved, saved - half, saved + half, confidence, variance**0.5)

    def joint(self) -> tuple[tuple[str, float], ...]:
        """Runs of steps that cannot be told apart, "a + b", and the kWh of each run."""
        runs = []
        start = 0
        for k in range(1, len(self.energy)):
            first, here = self.energy[start], self.energy[k]
            if here is None:
                continue
            if k - start > 1 and first is not None:
                runs.append((" + ".join(MEASURES[start:k]), first - here))
            start = k
        return tuple(runs)
