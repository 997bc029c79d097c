"""Trade figures as data: the only place in the product where such a figure stands.

`figures.toml` holds one table a figure: `value` (exact text), `unit`, `source`, `edition`, `status`, and where
sources disagree `range` and `reason`. Status words: `published` (seen in the source itself), `secondary` (seen in
somebody else's account of it), `common practice`, `derived` (arithmetic from named figures) and `from memory`,
which people are shown as "check your local code".
"""
