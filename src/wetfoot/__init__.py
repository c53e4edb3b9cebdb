"""Wetfoot: a season of clean planting stock in pots that stand in a constant depth of nutrient solution."""

__version__ = "0.1.0"
