"""A page into a PDF, whatever page it is.

pdf            the page laid out, within limits, by a process of its own
pdf_drawing    our drawings set on its pages
warm_process   a process started ahead of its work
"""
