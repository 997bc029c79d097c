"""Drawings and sheet cards: what is marked and cut while a sheet lies on the floor, and where it goes.

frames          room -> surface -> piece -> sheet as it lies, and back
metrics, svg,
layout, style   text that is measured, SVG that is escaped, labels that never meet
marks, troubles what is marked on a piece; what stands in the wrong place
elevation, plan,
section         the drawings of a room
card, piece,
sheet           the card of a sheet, each piece on it, the sheet with its cuts
hanging         which board first, and why
"""
