"""Engineering arithmetic: plain functions on plain values. No Django, no database, no clock."""
