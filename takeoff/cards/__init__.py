"""Sheet cards: how each sheet is cut, what is marked on each piece as it lies on the floor, and
where it goes. Nothing here draws; `takeoff.drawing` makes pictures of these values.

lookup          what cards and drawings look up of a takeoff
frames          places carried from the room to a surface, a piece and the lying sheet, and back
sides           what each side of a piece meets, and how that side is made
marks           holes, notches, screw lines and backers on a piece as it lies
card            the card of a sheet: its cuts in order, each piece with its marks, how it lies and
                goes up
card_words      the sentences that stand beside the drawing of a piece
hanging         which board is hung first, and why
troubles        boxes and openings that stand where no board can be cut for them
readings        the running dimensions of a surface
tape            a length as it is read off a tape
clean_text      what is safe to show of a name
"""
