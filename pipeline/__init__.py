"""Resale market comparables: what like pieces sold for."""
