"""The archive: everything people entered, of every house here, in one zip that is whole again on an
empty machine.

It holds every table by primary key, the photos and the print sets, and the schema they are of. It
does not hold what can be worked out again, nor what lets somebody in for a while: `tables.LEFT_OUT`
names each table that stays out, and why. A table that is added later is in the archive by itself.

    manifest.json                       made last: format, schema, and of each member the size, the
                                        digest and the number of rows
    tables/<app>.<model>.jsonl          one table, one row a line, ordered by primary key
    files/media/..., files/packs/...    photos and print sets as they lie in the data folder

schema           which migrations a database or an archive is of, and the models as they were then
tables           which tables are in an archive, and a row as a line of text and back
writing          an archive out, while people work
reading          an archive opened and checked, before anything of it is used
restoring        an archive in, whole or not at all, and into an empty place only
first_start      what the first start makes by itself, in whose place an archive may come
uploads          an archive that a browser sends, written to the disk as it comes
before_update    the archives that are made before the database is brought up to date
"""
