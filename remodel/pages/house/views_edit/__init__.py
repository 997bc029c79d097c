"""Pages that enter and change a house: houses and rooms, and all that stands in them."""
