"""What a takeoff says to people and to other programs: a table, the reasons, CSV, and a JSON
document."""
