"""Forms of the house as it is measured: rooms, walls, what stands on them, partitions, what is
chosen for each surface.

Each form's `columns()` gives what its service takes, once the form is valid.
"""
