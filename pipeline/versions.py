"""Versions that stand in every published row."""

__version__ = "0.1.0"
METHOD_VERSION = "2026-11"
"""Version of how figures are made; it stands in every row that holds a figure."""
