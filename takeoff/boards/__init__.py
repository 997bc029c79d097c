"""Boards: which boards lie where on a surface, where they meet, and out of which sheets they come.

The words of this package:

    course    a run of boards side by side, one sheet wide or ripped; level where courses run along
              a surface, standing where they run across it
    segment   a stretch of a course that is boarded, between corners and full-height openings
    joint     a butt seam, where two boards of one course meet
    layout    one way to lay the courses of a surface
    pile      rooms that are bought together and share offcuts (the word of a house file)
    pool      the surfaces of a pile that are cut from the same sheets: one board kind and thickness
    plan      the layout and joints of each surface of a pool, and the sheets they are cut from
    placed    a board that is cut or hung: piece and sheet stay. A held row is one that such boards
              hang in, a given joint one at the end of such a board, a begun sheet one that some
              pieces are cut of
    standing  a surface whose joints stay, while its boards may be cut from other sheets
    sliver    a gap beside hung boards that is filled and gets no board
    broken    a breach of a rule by what is still to be hung; *amiss* is one by what hangs alone

People are told of rows, and rows are counted from 1 there; a course's `index` counts from 0.

    courses, rows, joints, layouts, region, paths
                                              what is allowed on one surface
    reach                                     how far edges may lie from a corner, and at the floor
    notes                                     what a person must know of the rows
    allowed, stock                            which boards may lie there, which sheets get there
    hung, around, standing                    boards that hang, the rest around them, standing plans
    problem                                   all of that together: `formulate`
    options, first_plan, pooled, house_plan   a good plan quickly: of a surface, a pool, a house
    together, assemble                        from choices to a plan
    renewal, spares                           plans kept, and what fell of them planned anew
    against                                   what a changed surface has against boards that hang
    relax                                     which rule to relax where no layout is possible
    planner_rules                             what every plan keeps to, in sentences
    plan                                      the values of a plan
    check                                     whether a plan keeps every rule; shares no planner
    code
"""
