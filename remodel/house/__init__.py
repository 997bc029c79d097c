"""Houses, rooms, walls and what stands in them."""
