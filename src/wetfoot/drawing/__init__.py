"""Drawings to scale as SVG, and charts."""
