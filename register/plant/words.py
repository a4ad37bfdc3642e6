"""The closed vocabularies of the register. A word's value is what people read, type and import."""

from enum import StrEnum


class Role(StrEnum):
    """What a tag does in its loop."""

    SENSOR = "sensor"
    TRANSMITTER = "transmitter"
    SIGNAL_CONDITIONER = "signal conditioner"
    CONTROLLER = "controller"
    SET_POINT_SOURCE = "set-point source"
    FINAL_ELEMENT = "final element"
    INDICATOR = "indicator"
    RECORDER = "recorder"
    ALARM_UNIT = "alarm unit"
    POWER_SUPPLY = "power supply"


class ModelKind(StrEnum):
    """What a catalogue model is: something that takes a tag's role, or a board that plugs into one."""

    SENSOR = "sensor"
    TRANSMITTER = "transmitter"
    SIGNAL_CONDITIONER = "signal conditioner"
    CONTROLLER = "controller"
    SET_POINT_SOURCE = "set-point source"
    FINAL_ELEMENT = "final element"
    INDICATOR = "indicator"
    RECORDER = "recorder"
    ALARM_UNIT = "alarm unit"
    POWER_SUPPLY = "power supply"
    OPTION_BOARD = "option board"


class LoopKind(StrEnum):
    CONTROL = "control"
    INDICATION = "indication"
    ALARM = "alarm"
    TRIP = "trip"


class Criticality(StrEnum):
    """What is at stake when the loop stops; the order is the order of importance."""

    SAFETY = "safety"
    ENVIRONMENT = "environment"
    PRODUCTION = "production"
    ROUTINE = "routine"


class Location(StrEnum):
    """Where a tag stands; the columns of a loop diagram."""

    FIELD = "field"
    JUNCTION_BOX = "junction box"
    RACK = "rack"
    PANEL = "panel"


class Direction(StrEnum):
    IN = "in"
    OUT = "out"


class Purpose(StrEnum):
    """What flows through a port. Both ends of a right link have the same purpose."""

    MEASUREMENT = "measurement"
    REMOTE_SET_POINT = "remote set point"
    CONTROL = "control"
    COOLING_CONTROL = "cooling control"
    ALARM = "alarm"
    RETRANSMISSION = "retransmission"
    TRANSMITTER_SUPPLY = "transmitter supply"
    DIGITAL_INPUT = "digital input"
    SERIAL = "serial"
    POSITION_FEEDBACK = "position feedback"


class SetPointSource(StrEnum):
    LOCAL = "local"
    REMOTE = "remote"
    LOCAL_OR_REMOTE = "local or remote"
    DIGITAL_SELECT = "chosen by digital input"


class ControlForm(StrEnum):
    """What the controller drives."""

    NONE = "none"
    ON_OFF = "on-off"
    SINGLE = "single output"
    HEAT_COOL = "heat and cool"
    MOTORISED_VALVE = "motorised valve"


class Action(StrEnum):
    """Controller action: direct means that the output rises when the measured value rises."""

    DIRECT = "direct"
    REVERSE = "reverse"


class ProportionalAs(StrEnum):
    PROPORTIONAL_BAND = "proportional band %"
    GAIN = "gain"


class TimeUnit(StrEnum):
    """How integral and derivative are typed; with repeats, derivative is in minutes."""

    SECONDS = "s"
    MINUTES = "min"
    REPEATS_PER_MINUTE = "repeats/min"


class PidForm(StrEnum):
    IDEAL = "ideal"
    SERIES = "series"
    PARALLEL = "parallel"


class FaultDirection(StrEnum):
    """Which way a reading goes when its sensor or signal fails."""

    UPSCALE = "upscale"
    DOWNSCALE = "downscale"
    HOLD = "hold"


class Extreme(StrEnum):
    """The side of a measured variable on which the danger lies."""

    HIGH = "high"
    LOW = "low"


class AlarmKind(StrEnum):
    LOW_LOW = "low-low"
    LOW = "low"
    HIGH = "high"
    HIGH_HIGH = "high-high"
    DEVIATION_LOW = "deviation low"
    DEVIATION_HIGH = "deviation high"
    DEVIATION_BAND = "deviation band"
    RATE_OF_CHANGE = "rate of change"
    SENSOR_BREAK = "sensor break"


class CoilState(StrEnum):
    """What the alarm relay's coil does when the alarm comes."""

    ENERGISES = "energises"
    DE_ENERGISES = "de-energises"


class FailPosition(StrEnum):
    """Where a final element goes when its air, power or signal is lost."""

    CLOSED = "closed"
    OPEN = "open"
    STAYS = "stays"


class OnRisingSignal(StrEnum):
    """What a final element does as its signal rises."""

    OPENS = "opens"
    CLOSES = "closes"


class OnOpening(StrEnum):
    """What the measured value does as the final element opens."""

    RISES = "rises"
    FALLS = "falls"


class SupplyKind(StrEnum):
    AC = "a.c."
    DC = "d.c."
    AC_OR_DC = "a.c. or d.c."


class LoadKind(StrEnum):
    """What a contact switches; coils and motors count at the inductive rating."""

    RESISTIVE = "resistive"
    COIL = "coil"
    MOTOR = "motor"
    LAMP = "lamp"
    ELECTRONIC = "electronic"


class AccuracyBasis(StrEnum):
    SPAN = "% of span"
    READING = "% of reading"
    UPPER_LIMIT = "% of upper limit"
    UNIT = "in the unit"


class ColdJunction(StrEnum):
    INTERNAL = "internal"
    EXTERNAL = "external"
    NONE = "none"


class Parity(StrEnum):
    NONE = "none"
    EVEN = "even"
    ODD = "odd"


class CableUse(StrEnum):
    """What a cable is made and run for."""

    INSTRUMENT = "instrument"
    THERMOCOUPLE = "thermocouple extension"
    POWER = "power"
    BUS = "bus"


class AssetState(StrEnum):
    IN_SERVICE = "in service"
    IN_STORE = "in store"
    IN_WORKSHOP = "in workshop"
    SCRAPPED = "scrapped"


class Condition(StrEnum):
    """How what came out is. What is faulty or beyond repair counts as a failure."""

    WORKING = "working"
    FAULTY = "faulty"
    BEYOND_REPAIR = "beyond repair"


class MovementKind(StrEnum):
    """Why a stock figure changed. A count states what lies there and corrects the figure by the difference."""

    RECEIPT = "receipt"
    ISSUE = "issue"
    RETURN = "return"
    SCRAP = "scrap"
    COUNT = "count"


class PlannedKind(StrEnum):
    """What is still to move: a receipt that was ordered, or an issue that stock is kept back for."""

    ON_ORDER = "on order"
    RESERVED = "reserved"


class CalibrationResult(StrEnum):
    PASS = "pass"
    FAIL = "fail"
    INCOMPLETE = "incomplete"


class Severity(StrEnum):
    """How much a finding matters; the order is the order of urgency."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"
