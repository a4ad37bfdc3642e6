"""What a calculation says when it cannot be done. Every message names the limit that was passed and its unit."""


class CalculationError(ValueError):
    """The input cannot be calculated with; the message tells a technician why."""


class OutOfRange(CalculationError):
    """Outside the limits within which a function is defined; never extrapolated."""


class WrongDimension(CalculationError):
    """Two quantities that cannot be compared: their dimension or their reference differs."""


class NotANumber(CalculationError):
    """Not a number, or not a finite one."""


class EmptySpan(CalculationError):
    """A span whose ends are equal or in the wrong order."""


class UnknownUnit(CalculationError):
    """A unit code that the table does not hold."""


class UnknownSpelling(CalculationError):
    """A way of writing a unit, a range or a signal that nobody taught the register; it is never guessed."""


class NoEquivalent(CalculationError):
    """The quantity has no counterpart in the form asked for."""
