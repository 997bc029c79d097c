"""Choices that a house still has open, each worked out both ways with nothing else changed.

    for choice in choices_of(house):
        both = priced(house, choice)
        both.lines, both.leaning

`choice.py` finds the choices of a house and makes the house of either side; `words.py` reads what
is said of each kind, which is data; `figures.py` is what a side comes to; `entry.py` says what
still gets through the door of a closet; `pricing.py` sets both sides beside each other; `state.py`
says which choice the work has overtaken. Nothing here decides: it says which way the figures lean.
"""
