"""The calculators that ship with Keelbook, one plugin a module."""
