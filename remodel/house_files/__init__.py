"""A house as a whole: made new, brought in from a house file, and written to one.

A whole house has owners, a catalogue, stock and phases besides its rooms, so this package opens
`house`, `people`, `supply` and `work` at once.

new       a new house with the default catalogue
files     house files in and out
imports   the value read from a house file, made into rows
"""
