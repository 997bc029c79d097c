"""Stored results, plans and the jobs that seek better ones."""
