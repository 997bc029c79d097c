"""One append-only table of changes, undo, versions, write keys: used by every write."""
