"""Workbooks that the tests of the sheet make for themselves."""
