"""Every write of the register, a function each: permission first, one transaction, a revision after."""
