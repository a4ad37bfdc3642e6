"""Sizes of a drawing, in points at A4."""

SIZE = 6.8  # of all text but that in bubbles and headings
LINE = 8.3
PITCH = 10.8  # between the wires of a run, with a line of text above each
HEADER = 9.6  # for the cable's name above a run's first wire
EARTH = 5.0  # for the mark below a screen
GAP = 9.0  # between boxes of a layer
ROW_GAP = 2.5
PAD = 4.0
BUBBLE = 30.0  # diameter
GUTTER = BUBBLE + 8
SYMBOL = (28.0, 20.0)
POINT = 7.0  # at the end of a reference to another loop
TRACK = 4.0  # between the bends of wires
DIVIDER = 11.0  # from the border between two columns to the boxes on its right, where screens end
FLAG = (20.0, 9.0)  # a mark and a number of two digits
FLAG_GAP = 1.5
HEADING = 14.0
