"""Salts, electrical conductivity and dosing of the nutrient solution: pure functions, no files."""
