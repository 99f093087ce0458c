"""Pickups, drivers and the electronics next to them: how modes become volts and volts force."""
