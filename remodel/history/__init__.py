"""One append-only table of changes under every write: it gives undo, versions, and keys that make a
press count once."""
