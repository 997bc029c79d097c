"""The best board plan, with a bound on how much better any other could be.

Where the joints fall and how the pieces come out of sheets are one choice, so they stand in one
linear programme: each segment of each course is a path over its allowed joints, each arc a piece;
sheets are cutting patterns, priced in as needed; pieces and patterns meet in one demand row a
size. An integer programme over every piece and pattern that can still be part of a better plan then
finds it, or shows there is none.

    search     what a takeoff asks for: how hard to look, as one function the house plan calls
    best       `improve`: better and better plans of a pool, each with its bound
    effort     how far a search goes
    network    the pool as nodes, arcs, piece sizes and stock, in exact integers
    compile_network
               the network of a pool
    compatible which pieces one plan can hold beside each other: what no plan can cut is no pattern
    knapsack   the most valuable pattern of a sheet for given prices of pieces, exact
    patterns   every pattern that costs little more than its pieces are worth
    pattern_sources
               where the programme's patterns come from: by knapsack, by search, or out of a list
    relaxation the linear programme and its columns (the one place, with `integer`, that loads
               HiGHS)
    bound      a lower bound from any prices, in integer arithmetic alone: what `proven` rests on
    integer    the restricted integer programme
    translate  between board plans and answers on the network
    improvements
               ways to better answers: rounding the programme, cutting given courses, laying some
               surfaces again
    branch     what a part of the problem is split on
    tree       the search itself: parts with their bounds, until none can hold a better plan

The search of one room in order: the programme with patterns by knapsack and a first answer; the
programme sharpened, over patterns of plans alone; then stages, each settling all that costs a
little more than the bound. What is too large to be listed, and a pool of several rooms, goes to the
tree.

Lengths alone (studs, plates, bead) are cut in `takeoff.cutting`. HiGHS is loaded when a solve
begins, so a plain takeoff does not pay for it."""
