"""Raw readings to a clean interval series, with a ledger that accounts for every reading."""

from mv.cleaning.ledger_json import ledger_as_json
from mv.cleaning.meter import clean_meter

__all__ = ["clean_meter", "ledger_as_json"]
