"""Phases of rooms, notes, photos, the daily log."""
