"""Drawings of rooms, surfaces, sheets and pieces as SVG and DXF. What they show is worked out in
`takeoff.cards`, which draws nothing and imports nothing from here.

metrics, svg, layout    how wide a text is, shapes as escaped SVG, labels that never overlap
style, picture          how all of it looks; shapes, words and running dimensions under way
facts, legend           a finished drawing and the rows of its table; samples of its lines
on_page                 a surface or a piece, and where it stands on the page
piece_drawing,
sheet_drawing           the drawings of a card; a piece's lines are in piece_shapes, its words in
                        piece_words, and where it hangs in key_plan
elevation, plan,
section, room_set       the drawings of a room, and all of them in order; a surface's lines are in
                        surface_shapes and seam_lines, its words in surface_words, and its wall
                        in a small plan in surface_in_plan
dxf                     a surface for a drafting program
"""
