"""Sheet cards, room drawings, hanging order and packs for print: how pieces are marked, what is
done, what was printed.

models      how a house or a room marks its pieces; done marks; what was printed
queries     cards, drawings and packs as pages show them, kept by the digest of what they are made
            of
services    writes
packs       the pages of a pack, and the revision of what is on them
printing    house packs, made by the worker
"""
