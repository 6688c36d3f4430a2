"""What was promised: the fixture inventory, its kWh and kW, and whether it can be so."""

from mv.predicted.bounds import inventory_findings
from mv.predicted.inventory import INVENTORY_COLUMNS, read_inventory
from mv.predicted.prediction import predict
from mv.predicted.records import (
    Inventory,
    InventoryFinding,
    InventoryRow,
    PredictedPart,
    Prediction,
    RowPrediction,
)
from mv.predicted.stated import stated_prediction

__all__ = [
    "INVENTORY_COLUMNS",
    "Inventory",
    "InventoryFinding",
    "InventoryRow",
    "PredictedPart",
    "Prediction",
    "RowPrediction",
    "inventory_findings",
    "predict",
    "read_inventory",
    "stated_prediction",
]
