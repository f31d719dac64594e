"""Printed pages: one model of what stands on them, set as PDF or as one HTML file.

blocks        what a page is made of
printable     text that anybody wrote, as a page can hold it
state_shapes  the four states as shapes
pdf           blocks to PDF, by pages.typ
html          blocks to one HTML file
"""
