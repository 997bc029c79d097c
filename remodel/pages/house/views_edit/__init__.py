"""Pages that write a house down: new houses and rooms, and all that stands in them."""
