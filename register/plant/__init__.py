"""The loop as one frozen value: what a sheet prints and a rule needs, and nothing else.

No Django, no database and no clock in here: the same value is loaded from the tables, built from a form that is not
saved yet, and read back from an old revision.
"""
