"""What every planner of boards keeps to: each rule by its id, with a sentence that says it.

The list is what the checker is held against: a test breaks each rule once in a good plan and asks
the checker for the breach of that id. What makes plans and what checks them share this list and
the values of a plan, and no code.
"""

from __future__ import annotations

__all__ = ["FLOATING_RULES", "PLANNER_RULES"]

# Where no butt seam may float: every seam of such a surface lies on framing. `floating_forbidden`
# names the first of them that holds.
FLOATING_RULES = {
    "rated": "A rated surface has no floating seam: it follows its tested assembly.",
    "fire_rated": "Fire-rated board has no floating seam: it may serve a rated assembly.",
    "wet": "A wet or tiled surface has no floating seam.",
    "braces": "Board that braces the structure has no floating seam.",
    "tile_backer": "Tile backer has no floating seam.",
    "square_edges": "Square-edged board has no floating seam.",
}

PLANNER_RULES = {
    # which board, and how it lies on the framing
    "surfaces": "Every surface of a room that gets this board is planned, once.",
    "board": "A surface is hung in the board chosen for it.",
    "orientation": "Boards lie along or across the framing as chosen.",
    "long_edges": "Long edges of boards along the framing meet on a member.",
    "braces_along": "A ceiling whose board braces the structure lies across the framing.",
    "framing_table": "Board spans no more than the framing table lets it.",
    "tile_backer_framing": "Tile backer spans no more than its own limit.",
    # what hangs already
    "placed": "A board that hangs stays where it is, and its sheet is what it was.",
    # courses
    "rows": "Courses touch, reach from edge to edge as far as corner gaps go, and are counted in "
    "full sheets.",
    "ceiling_rows": "A ceiling's courses are counted from the side that the rules name, or its two "
    "edge courses are ripped alike.",
    "row_height": "A course is no higher than its sheets are wide.",
    "widths": "A course is cut from sheets of a width that the rules or the surface allow.",
    "narrow": "No course and no stretch of one is narrower than a core, unless the surface is.",
    "hair_rip": "A course that is ripped by less than a core's width off its sheets is told of.",
    "least_floor_gap": "Board stays off the floor by the least floor gap.",
    "largest_floor_gap": "No more than the largest floor gap stays open at the floor.",
    "segments": "A course is boarded wherever the surface is, its ends within the gaps of corners, "
    "and parted by an opening as high as it is.",
    "filler": "A strip beside an opening that is narrower than a core gets no board: it is filled.",
    # pieces
    "cover": "The pieces of a course leave no gap.",
    "overlap": "No two pieces of a course overlap.",
    "outline": "A piece is the surface's part of its rectangle, its edges within the gaps of "
    "corners, and no rectangle is too large.",
    "core": "Every piece has somewhere a whole square of a core's size, openings taken out.",
    "shortest_piece": "No piece is shorter than the shortest, but where its whole segment is.",
    "longest_board": "No piece or sheet is longer than what gets into the room.",
    # joints
    "joints": "There is one joint wherever two pieces of a course meet.",
    "seam_length": "A seam is as long as board meets board there.",
    "joint_mode": "Seams float, or lie on framing, as chosen for the surface.",
    "on_framing": "A seam on framing has the middle of a member behind all of it.",
    "opening_clearance": "Joints keep clear of the sides of openings.",
    "stagger": "Joints of touching courses keep the stagger apart.",
    "floating_clear_bay": "A floating seam stands in a bay that is wide enough.",
    "mid_bay_tolerance": "A floating seam stands in the middle of its bay.",
    "backer_place": "Nothing fills the place of a floating seam's backer.",
    "along_framing": "Boards laid along the framing have no floating seam.",
    **FLOATING_RULES,
    # sheets
    "on_sale": "A sheet that is bought is on sale.",
    "price": "A sheet costs what it is on sale at; one that is not bought costs nothing.",
    "sheet_width": "A piece comes from a sheet of its course's width, unless that is owned.",
    "heaviest_lift": "No sheet is heavier than two people should lift.",
    "owned": "An owned sheet is used as often as there is one, and is no larger than it is.",
    "offcut": "An offcut is no more than pieces leave over, and is used once.",
    "keep_offcuts": "Where no offcut is kept, a sheet serves one room.",
    "rooms": "A sheet is cut in the first room that hangs a piece of it.",
    "piece_cut": "Every piece is cut once.",
    "piece_size": "A piece is cut to its own size.",
    "sheet_layout": "The pieces of a sheet lie on it, and do not overlap.",
    "kerf": "A saw has its kerf between two pieces.",
    "rip": "A sheet is crosscut first and ripped at most once.",
    "factory_edges": "Factory edges meet factory edges, and no sheet gives more than it has.",
    # money
    "sheet_cost": "The sheets cost what they add up to.",
    "seam_cost": "The seams cost what they add up to.",
    "backer_cost": "The backers and shims cost what they add up to.",
    "work_cost": "The hours are worth what they add up to.",
    "bound": "No bound is above the plan's own cost.",
}
