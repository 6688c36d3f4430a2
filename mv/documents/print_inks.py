"""The figures' colours for printed charts: one meaning, one colour, on screen and on paper."""

from mv.figures import LIGHT, ramp
from mv.paper import Inks


def print_inks() -> Inks:
    """The light scheme's colours."""
    return Inks(
        sheet=LIGHT.sheet,
        ink=LIGHT.ink,
        muted=LIGHT.muted,
        rule=LIGHT.rule,
        metered=LIGHT.metered,
        expected=LIGHT.expected,
        saved=LIGHT.saved,
        attention=LIGHT.attention,
        faint=LIGHT.faint,
        ramp=ramp("light"),
    )
