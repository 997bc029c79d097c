"""The quantity engine: from a measured house to what to cut and what to buy.

Pure Python over frozen values. Nothing here imports Django, reads a clock, or opens a file it was
not handed (its own data folder `reference/` apart). The order of the rooms of this package is the
order of the work:

    units, quantities   lengths in whole nanometres; rates with their dimensions checked
    choices, catalogue,
    rules, house        the values a person gives
    marks               what is written on boards: codes of rooms, letters of walls
    housefile           the JSON house file: read, write, schema
    reference           trade figures as data
    geometry            the surfaces of a room, and the size to board on each
    framing             members on a surface, edges without support, sticks of a partition
    piles               which rooms are bought together
    boards              courses, joints, the board plan, and its independent checker
    cutting             sticks and sheets cut out of stock, with proven bounds
    seams               every joint by kind and length
    needs               what each phase takes, with reasons down to a trade figure
    supply              needs less stock, in packs on sale
    cut_list            which stick is cut into which pieces
    job                 all of it in one call
    cards               how each sheet is cut and marked, and in which order boards are hung
    drawing             rooms, surfaces, sheets and pieces as drawings
    report              the takeoff as text, CSV and JSON

Lengths are `Nm`, money is whole cents or an exact fraction of them; no float holds either.
"""
