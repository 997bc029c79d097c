"""What is on sale and on hand, supply orders."""
