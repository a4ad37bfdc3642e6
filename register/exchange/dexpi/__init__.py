"""P&IDs in the open DEXPI exchange (Proteus XML): what a drawing says, beside the register and brought into it."""
