"""Raw readings to a clean interval series, with a ledger that accounts for every reading."""

from mv.cleaning.clocks_compared import with_clocks_compared
from mv.cleaning.days import daily_energy
from mv.cleaning.ledger_json import ledger_as_json
from mv.cleaning.meter import clean_meter
from mv.cleaning.periods import AFTER_REPORTING

__all__ = ["AFTER_REPORTING", "clean_meter", "daily_energy", "ledger_as_json", "with_clocks_compared"]
