"""A takeoff for people and for other programs.

supply_text     the supply list as text, phase by phase
before_text     what to know of the whole house before buying
plan_text       the board plans as text, surface by surface, then sheet by sheet
why_text        the reasons behind one item, down to the trade figures
cut_text        what is cut from sticks, stick by stick
csv_text        the supply list as CSV
document        the whole takeoff as a JSON document, and its schema
text_table      tables and paragraphs in plain text
numbers         numbers as people read them
"""
