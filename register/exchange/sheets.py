"""What the workbook holds: a sheet a noun, a column a fact.

A column is known by the lookup path of its fact, from the sheet's table; what may stand in it (a number, a date, a
word of a list …), and whether it must be filled in, follows from the table. Another thing is named by its own key:
``tag__name``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

from django.db import models

from register import models as tables
from register.plant.words import Criticality, Purpose
from register.services.packing import column_of

READ_ME = "Read me"
WORDS = "Words"
"""The sheets that explain the others."""


@dataclass(frozen=True)
class Column:
    heading: str
    path: str
    help: str = ""
    words: type[StrEnum] | None = None  # of a column that lists several, parted by commas

    def field_of(self, table: type[models.Model]) -> models.Field:
        """The table's column where the fact is kept at last."""
        return column_of(table, self.path)


@dataclass(frozen=True)
class Sheet:
    name: str
    table: type[models.Model]
    help: str
    columns: tuple[Column, ...]
    order: tuple[str, ...] = field(default=("pk",))

    @cached_property
    def by_heading(self) -> dict[str, Column]:
        return {column.heading.casefold(): column for column in self.columns}

    @cached_property
    def by_path(self) -> dict[str, Column]:
        return {column.path: column for column in self.columns}

    def requires(self, column: Column) -> bool:
        """Whether a row must have it: what the table does not let be empty and gives no value of its own."""
        first = self.table._meta.get_field(column.path.partition("__")[0])
        return not (first.null or first.blank or first.has_default())


def _range(prefix: str, of: str) -> tuple[Column, ...]:
    return (
        Column("Range from", f"{prefix}_low", f"{of}: the lower end, in the unit beside it."),
        Column("Range to", f"{prefix}_high", f"{of}: the upper end."),
        Column("Unit", f"{prefix}_unit", "As it is written: °C, bar (gauge), m³/h, % …"),
    )


MODEL = (
    Column("Maker", "model__maker", "Who makes it, as on the sheet Models."),
    Column("Model", "model__name", "The model's name, as on the sheet Models."),
)
TAG = Column("Tag", "tag__name", "As on the sheet Tags.")
CONDITION_HELP = "What was faulty or beyond repair counts as a failure of its model."
SIGNAL_HELP = "4-20mA, pt100, tc-K, relay-contact …: the list is on the sheet Words."

SHEETS: tuple[Sheet, ...] = (
    Sheet(
        "Plant",
        tables.PlantSettings,
        "One row: what the plant is called and how it prints.",
        (
            Column("Name", "name", "Stands at the head of every sheet and list."),
            Column("Currency", "currency", "Three letters, such as EUR; for prices."),
            Column("Paper", "paper", "What sheets are printed on."),
            *(
                Column(
                    f"Service level, {one} (%)",
                    f"service_level_{one}_percent",
                    "Of lead times, with a spare for every failure.",
                )
                for one in Criticality
            ),
            Column("How tags are written", "tag_patterns", "Patterns, one a line: {letters}-{number}[{suffix}] …"),
        ),
    ),
    Sheet(
        "Board families",
        tables.BoardFamily,
        "Option boards that a bay takes alike. Add what your plant needs.",
        (
            Column("Board family", "name", "Without a comma: bays list several, parted by commas."),
            Column("Description", "description"),
        ),
        ("name",),
    ),
    Sheet(
        "Models",
        tables.CatalogueModel,
        "What makers sell, with the facts of the data sheet. Leave empty what is not known: nothing is guessed.",
        (
            Column("Maker", "maker"),
            Column("Model", "name", "Maker and model together name it; each pair stands here once."),
            Column("Kind", "kind", "What it is."),
            Column("Description", "description"),
            Column("Order code", "order_code", "What to write on the order."),
            Column("Board family", "family__name", "Of an option board only."),
            Column("One per controller", "one_per_controller", "Of an option board: a controller takes one of these."),
            Column("Front width (mm)", "front_width_mm", "Of the bezel, not of the cut-out."),
            Column("Front height (mm)", "front_height_mm", "Of the bezel, not of the cut-out."),
            Column("Depth behind panel (mm)", "depth_mm"),
            Column("Display digits", "display_digits"),
            Column("Supply kind", "supply_kind"),
            Column("Supply from (V)", "supply_low_v"),
            Column("Supply to (V)", "supply_high_v"),
            Column("Power taken (W)", "power_w"),
            Column("Greatest ambient (°C)", "ambient_max_c", "That it may work in."),
            Column("Wires", "wires", "Of a resistance element: 2, 3 or 4. Of a transmitter: 2 is loop powered."),
            *_range("limits", "What a sensor stands, or within which a transmitter can be ranged"),
            Column("Least span", "minimum_span", "In the unit of the range."),
            Column("Accuracy", "accuracy", "Plus or minus, on the basis beside it."),
            Column("Accuracy basis", "accuracy_basis"),
            Column("Tolerance class", "tolerance_class", "Of a sensor: AA, A, B, C, 1, 2, 3."),
            Column("Construction", "construction", "Of a resistance element: wire wound or film."),
            Column("Elements", "element_count", "2: duplex."),
            Column("Extracts square root", "square_root"),
            Column("Controls heating and cooling", "heat_cool"),
            Column("Proportional as", "proportional_as", "How the controller states its proportional action."),
            Column("Times in", "time_unit", "How the controller states integral and derivative action."),
            Column("PID form", "pid_form"),
            Column("On rising signal", "on_rising_signal", "What a final element does."),
            Column("On loss of signal or power", "fail_position", "Where a final element goes."),
            Column("End-to-end resistance (Ω)", "series_resistance_ohm", "Of a barrier."),
            Column("Isolates", "isolates", "An isolator gives its own supply and floats both sides."),
            Column("Failures per year", "failure_rate_per_year", "Of one, in service."),
            Column(
                "Weight of that rate (years)",
                "failure_rate_weight_years",
                "As so many years of running time, against which the plant's own count; empty: 10.",
            ),
            Column("Obsolete", "obsolete"),
            Column("Successor's maker", "successor__maker", "What replaces it."),
            Column("Successor's model", "successor__name"),
            Column("Price", "price", "In the plant's currency."),
            Column("Lead time (days)", "lead_time_days"),
            Column("Ex certificate", "certificate", "Its number. The certificate decides, not this register."),
            Column("Ex protection", "protection", "ia, ib, ic, d, e, t …"),
            Column("Ex group", "gas_group", "IIA, IIB, IIC; dust: IIIA, IIIB, IIIC."),
            Column("Ex temperature class", "temperature_class", "T1 to T6."),
            Column("Simple apparatus", "simple_apparatus", "By IEC 60079-11: stores and makes next to no energy."),
            Column("Ui (V)", "ui_v"),
            Column("Ii (mA)", "ii_ma"),
            Column("Pi (mW)", "pi_mw"),
            Column("Ci (nF)", "ci_nf"),
            Column("Li (mH)", "li_mh"),
            Column("Uo (V)", "uo_v"),
            Column("Io (mA)", "io_ma"),
            Column("Po (mW)", "po_mw"),
            Column("Co (nF)", "co_nf"),
            Column("Lo (mH)", "lo_mh"),
        ),
        ("maker", "name"),
    ),
    Sheet(
        "Model ports",
        tables.ModelPort,
        "Inputs and outputs that a model or a board has, with the electrical facts of its data sheet.",
        (
            *MODEL,
            Column("Port", "name", "As the data sheet calls it."),
            Column("Direction", "direction", "Of what flows: a supply that it gives goes out."),
            Column("Purposes", "purposes", "What it can be used for, parted by commas.", words=Purpose),
            Column("Terminals", "terminals"),
            Column("Input resistance (Ω)", "resistance_ohm"),
            Column("Greatest load (Ω)", "max_load_ohm", "That a current output can drive."),
            Column("Feeds a two-wire circuit", "supplies_loop"),
            Column("Isolated", "isolated", "It floats from earth and from the other ports."),
            Column("Supply given (V)", "supply_v", "Open circuit."),
            Column("Source resistance (Ω)", "supply_resistance_ohm"),
            Column("Greatest supply current (mA)", "supply_max_ma"),
            Column("Least terminal voltage (V)", "min_terminal_v", "That a loop-powered port needs to work."),
            Column("Greatest terminal voltage (V)", "max_terminal_v"),
            Column("Low fault current (mA)", "failure_low_ma", "What a sender sends; where a receiver sees a fault."),
            Column("High fault current (mA)", "failure_high_ma", "What a sender sends; where a receiver sees a fault."),
            Column("Contact rating (V)", "contact_v"),
            Column("Contact rating, resistive (A)", "contact_a"),
            Column("Contact rating, coils (A)", "contact_inductive_a", "AC-15 or DC-13 of IEC 60947-5-1."),
            Column("Leakage when off (mA)", "leakage_ma", "Of a solid-state switch."),
            Column("Logic drive (V)", "drive_v"),
            Column("Logic drive (mA)", "drive_ma"),
            Column("Load kind", "load_kind", "What it is to the contact that switches it."),
            Column("Least switching voltage (V)", "load_v_min"),
            Column("Greatest switching voltage (V)", "load_v_max"),
            Column("Current when switched (A)", "load_a"),
            Column("Unit loads", "unit_load", "Of a serial port, by TIA-485-A."),
            Column("Digital on current", "digital_on_current", "A sender: digital messages ride on its current."),
        ),
        ("model__maker", "model__name", "pk"),
    ),
    Sheet(
        "Model signals",
        tables.ModelSignal,
        "The signals that a model's port speaks, one a row, within limits where it has any of its own.",
        (
            Column("Maker", "port__model__maker"),
            Column("Model", "port__model__name"),
            Column("Port", "port__name"),
            Column("Direction", "port__direction"),
            Column("Signal", "signal", SIGNAL_HELP),
            *_range("limits", "What the port takes or gives of this signal"),
        ),
        ("port__model__maker", "port__model__name", "port__pk", "pk"),
    ),
    Sheet(
        "Bays",
        tables.Bay,
        "Positions in a controller model that take option boards.",
        (
            *MODEL,
            Column("Bay", "name", "As the controller's label calls it."),
            Column("Takes", "takes", "Board families, parted by commas."),
        ),
        ("model__maker", "model__name", "pk"),
    ),
    Sheet(
        "Areas",
        tables.Area,
        "The plant's parts, each within another or at the top.",
        (
            Column("Code", "code"),
            Column("Name", "name"),
            Column("Lies within", "parent__code", "The code of the area around it; empty at the top."),
            Column("Zone", "zone", "Of the hazardous area: 0, 1, 2; dust: 20, 21, 22. Empty where there is none."),
            Column("Group", "gas_group", "Of the gas or dust there: IIA … IIIC."),
            Column("Ignition temperature (°C)", "ignition_c", "Of the gas or dust there."),
            Column("Greatest ambient (°C)", "ambient_max_c", "In the field there."),
        ),
        ("path",),
    ),
    Sheet(
        "Loops",
        tables.Loop,
        "One row a loop: what it is for and what is at stake.",
        (
            Column("Loop", "number", "By ISA-5.1: the variable's letter and a number, such as T-101."),
            Column("Service", "service", "What it measures or controls, where."),
            Column("Area", "area__code"),
            Column("Kind", "kind"),
            Column("Criticality", "criticality"),
            Column("As the final element opens, the value", "on_opening"),
            Column("Danger lies", "danger", "The side of the measured variable that can hurt."),
            Column("Normal value", "normal_value", "In the unit of the loop's range, as the three below."),
            Column("Safe from", "safe_low"),
            Column("Safe to", "safe_high"),
            Column("Required accuracy", "required_accuracy", "Plus or minus."),
            Column("Dead time (s)", "dead_time_s"),
            Column("Remarks", "remarks"),
            Column("Target SIL", "target_sil", "Of a trip. The safety requirements specification decides."),
            Column("PFD of sensor part", "sensor_pfd"),
            Column("PFD of logic part", "logic_pfd"),
            Column("Final element failures per hour", "final_element_failures_per_hour", "Dangerous and undetected."),
            Column("Proof test every (months)", "proof_test_interval_months"),
            Column("Last proof test", "last_proof_test"),
            Column("Why a shared sensor is accepted", "shared_sensor_justified"),
            Column("Retired on", "retired_on", "Nothing that was in service is deleted: it is retired."),
        ),
        ("area__path", "number"),
    ),
    Sheet(
        "Tags",
        tables.Tag,
        "The places of a loop: facts about the place; what is fitted there stands on Installations.",
        (
            Column("Tag", "name", "By ISA-5.1, such as TIC-101."),
            Column("Loop", "loop__number"),
            Column("Role", "role"),
            Column("Description", "description"),
            Column("Location", "location", "The column of the loop diagram."),
            Column("Place", "place", "Panel P2 row 3, Kiln 1 north wall …"),
            Column("Specified maker", "specified__maker", "What should be fitted here."),
            Column("Specified model", "specified__name"),
            Column("Cut-out width (mm)", "cutout_width_mm", "Of the hole in the panel."),
            Column("Cut-out height (mm)", "cutout_height_mm"),
            Column("Supply kind", "supply_kind", "Available at the place."),
            Column("Supply (V)", "supply_v"),
            Column("Greatest ambient (°C)", "ambient_c", "At the place; else the area's."),
            Column("Zone", "zone", "At the place; else the area's."),
            Column("Group", "gas_group"),
            Column("Ignition temperature (°C)", "ignition_c"),
            Column("On a fault reads", "fault_direction", "As set in a transmitter."),
            Column("On loss of signal or power", "fail_position", "As built; else the model's."),
            Column("On rising signal", "on_rising_signal", "As built; else the model's."),
            Column("Safe position", "safe_position", "What the process needs."),
            Column("Fuse", "fuse"),
            Column("Calibrate every (months)", "calibration_interval_months"),
            Column("Retired on", "retired_on"),
        ),
        ("loop__area__path", "loop__number", "name"),
    ),
    Sheet(
        "Ports",
        tables.Port,
        "What goes into and out of a tag, one a row.",
        (
            TAG,
            Column("Port", "name"),
            Column("Direction", "direction"),
            Column("Purpose", "purpose"),
            Column("Signal", "signal", SIGNAL_HELP),
            *_range("range", "The values at 0 and 100 % of the signal"),
            Column("Reversed", "reversed", "100 % of the range at the low end of the signal."),
            Column("Takes square root", "square_root", "On the way to this port's signal."),
            Column("Bay", "bay", "Whose board must provide it; empty: built in."),
            Column("Feeds a two-wire circuit", "supplies_loop", "Only where this place differs from the model."),
            Column("Covers output from (%)", "split_low_percent", "Split range: the part of the controller's output."),
            Column("Covers output to (%)", "split_high_percent"),
            Column("Terminals", "terminals"),
        ),
        ("tag__loop__area__path", "tag__loop__number", "tag__name", "pk"),
    ),
    Sheet(
        "Settings",
        tables.Settings,
        "What a controller or indicator is to be set to and, where it is known, what it was left at.",
        (
            TAG,
            Column("Which", "kind", "What it must be, or what the last visit left in it."),
            Column("Input signal", "input_signal", SIGNAL_HELP),
            *_range("range", "What 0 and 100 % of the input mean"),
            Column("Decimals shown", "decimals"),
            Column("Input wires", "input_wires", "Of a resistance input: 2, 3 or 4."),
            Column("Cold junction", "cold_junction", "Of a thermocouple input."),
            Column("Takes square root", "square_root"),
            Column("Low-flow cut-off (%)", "low_cutoff_percent"),
            Column("Filter (s)", "filter_s"),
            Column("On sensor break reads", "sensor_break"),
            Column("Fault at or below (mA)", "fault_below_ma"),
            Column("Fault at or above (mA)", "fault_above_ma"),
            Column("Set point from", "set_point_source"),
            Column("Set point", "set_point", "In the unit of the range."),
            Column("Set-point limit, low", "set_point_low"),
            Column("Set-point limit, high", "set_point_high"),
            Column("Remote ratio", "remote_ratio"),
            Column("Remote bias", "remote_bias"),
            Column("Left in local", "working_in_local", "Although a remote source is wired."),
            Column("Control", "control"),
            Column("Action", "action", "Direct: the output rises when the value rises."),
            Column("Proportional", "proportional"),
            Column("Proportional as", "proportional_as"),
            Column("Integral", "integral"),
            Column("Derivative", "derivative"),
            Column("Times in", "time_unit", "With repeats/min the derivative is in minutes."),
            Column("PID form", "pid_form"),
            Column("Output limit, low (%)", "output_low_percent"),
            Column("Output limit, high (%)", "output_high_percent"),
            Column("Cycle time (s)", "cycle_time_s"),
            Column("Bus", "serial_bus", "Name of the serial bus that it is on."),
            Column("Bus address", "serial_address"),
            Column("Bus rate (bit/s)", "serial_baud"),
            Column("Bus parity", "serial_parity"),
            Column("Bus stop bits", "serial_stop_bits"),
            Column("Bus framing", "serial_mode", "RTU or ASCII."),
            Column("Bus terminated here", "serial_terminated", "A terminating resistor is fitted."),
        ),
        ("tag__loop__area__path", "tag__loop__number", "tag__name", "-kind"),
    ),
    Sheet(
        "Alarms",
        tables.Alarm,
        "Alarm settings, one a row, with the output that each drives.",
        (
            TAG,
            Column("Alarm", "name"),
            Column("Kind", "kind"),
            Column("Set point", "set_point", "In the unit of the tag's range; a deviation alarm: a difference."),
            Column("Dead band", "deadband", "In the unit of the tag's range."),
            Column("Priority", "priority"),
            Column("Drives port", "output__name", "An output of the same tag."),
            Column("Coil", "coil", "What the relay's coil does when the alarm comes."),
            Column("Trip", "trip"),
            Column("Latching", "latching"),
            Column("Delay (s)", "delay_s"),
            Column("Line monitored", "line_monitored"),
            Column("What to do", "action", "What a person must do when it comes."),
        ),
        ("tag__loop__area__path", "tag__loop__number", "tag__name", "pk"),
    ),
    Sheet(
        "Cables",
        tables.Cable,
        "Cables, whatever runs through them.",
        (
            Column("Cable", "name"),
            Column("Use", "use"),
            Column("Conductor designation", "designation", "Of an extension or compensating cable: KX, KCA …; copper."),
            Column("Cores", "cores"),
            Column("Conductor (mm²)", "csa_mm2"),
            Column("Length (m)", "length_m"),
            Column("Capacitance (pF/m)", "capacitance_pf_per_m"),
            Column("Inductance (µH/m)", "inductance_uh_per_m"),
            Column("Greatest temperature (°C)", "temperature_max_c"),
            Column("Screened", "screened"),
            Column("Screen earthed at", "screen_earthed_at", "Places, parted by commas."),
        ),
        ("name",),
    ),
    Sheet(
        "Links",
        tables.Link,
        "What is connected: from an output to an input. An input is fed once.",
        (
            Column("From tag", "source__tag__name"),
            Column("From port", "source__name"),
            Column("To tag", "target__tag__name"),
            Column("To port", "target__name"),
            Column("Resistor across input (Ω)", "shunt_ohm"),
            Column("Note", "note"),
        ),
    ),
    Sheet(
        "Cores",
        tables.Core,
        "The conductors of each link, terminal to terminal, in the order in which they run from source to target.",
        (
            Column("Link to tag", "link__target__tag__name", "The link is named by the input that it ends at."),
            Column("Link to port", "link__target__name"),
            Column("Order", "sequence", "1, 2, 3 … within the link."),
            Column("Cable", "cable__name"),
            Column("Core", "core"),
            Column("Colour", "colour"),
            Column("Polarity", "polarity", "+, -, compensation or screen."),
            Column("From place", "from_place"),
            Column("From terminal", "from_terminal"),
            Column("To place", "to_place"),
            Column("To terminal", "to_terminal"),
        ),
        ("link__pk", "sequence", "pk"),
    ),
    Sheet(
        "Assets",
        tables.Asset,
        "Physical items, one a row, wherever they are.",
        (
            Column("Asset", "code", "The plant's own number."),
            *MODEL,
            Column("Serial number", "serial", "Once for each model."),
            Column("State", "state"),
            Column("Store place", "store_place"),
            Column("Remarks", "remarks"),
        ),
        ("code",),
    ),
    Sheet(
        "Installations",
        tables.Installation,
        "Which asset was at which tag, from when to when.",
        (
            Column("Asset", "asset__code"),
            TAG,
            Column("From", "from_date"),
            Column("To", "to_date", "Empty: it is still there."),
            Column("Why it went in", "reason_in"),
            Column("Why it came out", "reason_out"),
            Column("Condition when it came out", "condition_out", CONDITION_HELP),
        ),
        ("asset__code", "from_date", "pk"),
    ),
    Sheet(
        "Boards fitted",
        tables.BoardFitting,
        "Option boards in the bays of a controller, from when to when.",
        (
            Column("Controller asset", "controller__code"),
            Column("Bay", "bay"),
            Column("Board maker", "model__maker"),
            Column("Board model", "model__name"),
            Column("Board asset", "board__code", "Where the board has a number of its own."),
            Column("From", "from_date"),
            Column("To", "to_date", "Empty: it is still there."),
            Column("Condition when it came out", "condition_out", CONDITION_HELP),
        ),
        ("controller__code", "bay", "from_date"),
    ),
    Sheet(
        "Calibrations",
        tables.Calibration,
        "Calibrations of what is at a tag; at most one a day.",
        (
            TAG,
            Column("On", "on"),
            Column("Asset", "asset__code", "Which item was calibrated."),
            Column("Result", "result"),
            Column("By", "by"),
            Column("Test standard", "standard"),
            Column("Certificate", "certificate"),
            *_range("range", "What was calibrated"),
            Column("Points", "points"),
            Column("Both ways", "both_ways", "Rising and falling."),
            Column("As found recorded", "as_found_recorded", "Before anything was adjusted."),
            Column("Worst error (% of span)", "worst_error_percent"),
            Column("Tolerance (% of span)", "tolerance_percent"),
            Column("Uncertainty of standard (% of span)", "standard_uncertainty_percent"),
        ),
        ("tag__name", "on"),
    ),
    Sheet(
        "Stock",
        tables.StockLine,
        "What lies in the store without a serial number.",
        (
            *MODEL,
            Column("Store place", "store_place"),
            Column("Quantity", "quantity"),
            Column("At least", "minimum", "Order when there are fewer."),
        ),
        ("model__maker", "model__name", "store_place"),
    ),
    Sheet(
        "On order and reserved",
        tables.PlannedMovement,
        "What is still to come into the store, and what is kept back for a job.",
        (
            *MODEL,
            Column("Which", "kind"),
            Column("Reference", "reference", "The order's number, or the work that it is kept for."),
            Column("Quantity", "quantity"),
            Column("Moved already", "moved"),
            Column("Made on", "made_on", "The day of the order or of the reservation."),
            Column("Expected on", "expected_on", "The day of arrival, or on which it is needed."),
            Column("Closed on", "closed_on", "Nothing more will move."),
            Column("Why closed", "closed_reason"),
        ),
        ("model__maker", "model__name", "kind", "reference"),
    ),
)
