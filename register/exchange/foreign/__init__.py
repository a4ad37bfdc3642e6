"""Instrument indexes in any form: what stands in a file, what people mean by it, and what the register makes of it."""
