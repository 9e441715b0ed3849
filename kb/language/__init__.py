"""Quantities and expressions: the small language that a yard writes its numbers in."""
