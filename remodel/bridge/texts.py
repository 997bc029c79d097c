"""Texts in people's own words, by the rule of house files."""

from takeoff.housefile import tidy_text

__all__ = ["tidy_text"]
