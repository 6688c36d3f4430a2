"""From promise to proof: where the kWh between two figures lie, in steps that add up exactly."""

from mv.bridge.baseline import baseline_to_reporting
from mv.bridge.evidence import MeterEvidence, ZoneEvidence
from mv.bridge.promise import predicted_to_verified
from mv.bridge.promise_meter import InstalledZone, PromisedRow, VerifiedMeter
from mv.bridge.records import Bridge, BridgeStep

__all__ = [
    "Bridge",
    "BridgeStep",
    "InstalledZone",
    "MeterEvidence",
    "PromisedRow",
    "VerifiedMeter",
    "ZoneEvidence",
    "baseline_to_reporting",
    "predicted_to_verified",
]
