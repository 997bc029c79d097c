"""Drawings and sheet cards: what is marked and cut while a sheet lies on the floor, and where it
goes.

frames                  room -> surface -> piece -> sheet as it lies, and back
metrics, svg, layout    text that is measured, SVG that is escaped, labels that never meet
style, picture          how all of it looks; shapes, words and running dimensions, and the same
                        facts as a table
sides, marks            what each side of a piece meets; holes, notches, screw lines and backers on
                        it as it lies
card                    the card of a sheet: its cuts in order, each piece with its marks, how it
                        lies and goes up
piece_drawing,
sheet_drawing           the drawings on a card; a piece's lines are in piece_shapes, its words in
                        piece_words
elevation, plan,
section, room_set       the drawings of a room, and all of them in order; a surface's lines are in
                        surface_shapes, its words in surface_words
on_page                 what those are handed: a surface or a piece, and where it stands on the page
hanging                 which board first, and why
troubles                what stands in the wrong place, told before it is cut
dxf                     a surface for a drafting program
"""
