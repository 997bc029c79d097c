"""Sheet cards: how each sheet is cut, what is marked on each piece as it lies on the floor, and
where it goes. Nothing here draws; `takeoff.drawing` makes pictures of these values.

lookup          what cards and drawings look up of a takeoff
frames          places carried from the room to a surface, a piece and the lying sheet, and back
sides           what each side of a piece meets, and how that side is made
marks           holes, notches, screw lines and backers on a piece as it lies
poses           how a piece is laid down and goes up, and its row, in words that name the room
cuts            the cuts of a sheet in order, and last the slopes and corners of each piece
card            the card of a sheet: its cuts in order, each piece with its marks
card_words      the sentences and the table that stand beside the drawing of a piece
key_plan        a small plan of the room that shows where a piece hangs
lying_words     the ends and edges of a lying piece, and places on it, in words
hanging         which board is hung first, and why
troubles        boxes and openings that stand where no board can be cut for them
readings        the running dimensions of a surface
tape            a length as it is read off a tape, and the one number of each mark
clean_text      what is safe to show of a name
"""
