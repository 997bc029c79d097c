"""Who is here, and whose house it is."""
