"""What every stage shares: errors, estimates, units, clock and the records that pass between stages."""
