"""What comes before what: steps of all rooms and of the house, and the rules between them.

    site = Site(places=(Place(room="kitchen", name="Kitchen", facts=frozenset({"walls"})),))
    graph = graph_of(site)
    told_before(graph, [Doing(kind="hang-walls", room="kitchen")])

`rules.py` reads the rules, which are data; `graph.py` makes the steps of a house and what each
waits for; `telling.py` says what stands in the way of something a person is about to do;
`outlook.py` says what can start now, and what the others wait for. No step is known to be done but
by what it is given.
"""
