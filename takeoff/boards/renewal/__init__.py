"""Plans that are kept, and what is planned anew where one cannot stand.

A plan stands until a piece of it that is still open is impossible: the wall is of another size, a
stud stands elsewhere, a joint was told elsewhere. Then only the surfaces that fell are planned
anew. Boards that hang stay, and so do the joints of the other surfaces. A sheet that nothing is cut
of keeps its card where none of its pieces fell; one that is begun always does.

    values                what is handed in, and what comes of it
    now                   the house as it is measured now, with its plans and what is done
    sheets                which sheets are begun, which are no more, and what is left on those
    falls                 which surfaces of a plan cannot stand, and why
    prices                a plan at the prices of now
    renew                 planning what fell around what stays
"""

from takeoff.boards.renewal.renew import renew
from takeoff.boards.renewal.values import NOTHING_DONE, Done, Fallen, Renewal

__all__ = ["NOTHING_DONE", "Done", "Fallen", "Renewal", "renew"]
