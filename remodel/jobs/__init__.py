"""Jobs beside the web: a queue in the database, for any number of workers on any number of
machines.

models     a worker, and the columns of a row that waits for one
queue      take a job, hold it, end it; a job is held by one worker, and a silent worker's job is
           taken by another
lanes      the loops of a worker, which outlast a database or a disk that cannot be used

Searches, print sets and figures are queues; each says what its rows are and how one is seen
through.
"""
