"""The product run as its own processes, and what it runs on taken away under it."""
