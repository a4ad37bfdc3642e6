"""Expected values of five-point checks."""

from msgspec.structs import replace

from register.plant import sketch
from register.sheets.checks import checks_of
from tests.sheets import samples


def points(loop, tag: str, nth: int = 0) -> list[tuple[int, str, str]]:
    check = [one for one in checks_of(loop) if one.tag == tag][nth]
    return [(point.percent, point.applied, point.expected) for point in check.points]


def test_a_pt100_input_is_checked_in_ohm():
    """IEC 60751:2008, table 1: 100.00, 119.40, 138.51, 157.33 and 175.86 Ω at 0, 50, 100, 150 and 200 °C; its
    equation gives the third place."""
    assert points(sketch.temperature_loop(), "TIC-101") == [
        (0, "100.000 Ω", "0.0 °C"),
        (25, "119.397 Ω", "50.0 °C"),
        (50, "138.505 Ω", "100.0 °C"),
        (75, "157.325 Ω", "150.0 °C"),
        (100, "175.856 Ω", "200.0 °C"),
    ]


def test_a_head_transmitter_takes_millivolts_and_gives_milliamps():
    """NIST Monograph 175, type K: 0, 4.096, 8.138, 12.209 and 16.397 mV at 0, 100, 200, 300 and 400 °C."""
    assert points(samples.with_isolator(), "TT-420") == [
        (0, "0.000 mV", "4.000 mA"),
        (25, "4.096 mV", "8.000 mA"),
        (50, "8.138 mV", "12.000 mA"),
        (75, "12.209 mV", "16.000 mA"),
        (100, "16.397 mV", "20.000 mA"),
    ]


def test_a_thermocouple_check_warns_of_the_cold_junction():
    (check,) = (one for one in checks_of(samples.with_isolator()) if one.tag == "TT-420")
    assert "0 °C" in check.note


def test_a_pressure_transmitter_takes_the_process_value():
    """IEC 60381-1: 4–20 mA in proportion."""
    assert points(sketch.pressure_loop(), "PT-201") == [
        (0, "0", "4.000 mA"),
        (25, "2.5", "8.000 mA"),
        (50, "5", "12.000 mA"),
        (75, "7.5", "16.000 mA"),
        (100, "10", "20.000 mA"),
    ]


def test_a_reversed_output_falls_as_its_range_rises():
    loop = sketch.with_port(sketch.pressure_loop(), "PT-201", "Output", reversed=True)
    assert [expected for _, _, expected in points(loop, "PT-201")][:2] == ["20.000 mA", "16.000 mA"]


def test_a_controller_that_extracts_the_root_needs_the_square_of_its_flow():
    """Half of the flow is a quarter of the differential pressure (ISO 5167-1): 8 mA (IEC 60381-1)."""
    assert points(sketch.flow_loop(), "FIC-501") == [
        (0, "4.000 mA", "0.0 m³/h"),
        (25, "5.000 mA", "30.0 m³/h"),
        (50, "8.000 mA", "60.0 m³/h"),
        (75, "13.000 mA", "90.0 m³/h"),
        (100, "20.000 mA", "120.0 m³/h"),
    ]


def test_a_control_output_is_checked_by_hand():
    assert points(sketch.temperature_loop(), "TIC-101", 1)[1] == (25, "25 %", "8.000 mA")


def test_half_a_digit_is_not_rounded_away():
    """Three quarters of 150 are 112.5, whatever the display can show."""
    loop = sketch.with_settings(sketch.temperature_loop(range_="0-150 degC"), "TIC-101", decimals=0)
    assert [expected for _, _, expected in points(loop, "TIC-101")] == [
        "0 °C",
        "37.5 °C",
        "75 °C",
        "112.5 °C",
        "150 °C",
    ]


def test_what_is_missing_is_named_instead_of_guessed():
    loop = sketch.with_settings(sketch.temperature_loop(), "TIC-101", range=None)
    loop = sketch.with_port(loop, "TIC-101", "Input", range=None)
    assert checks_of(loop)[0].missing.startswith("The range of TIC-101 is not recorded.")
    loop = sketch.with_port(sketch.temperature_loop(), "TIC-101", "Input", signal="")
    assert checks_of(loop)[0].missing == "the signal of Input is not recorded"


def test_a_range_beyond_the_sensor_table_says_where_the_table_ends():
    """IEC 60751:2008, 5.1: Pt100 is defined from −200 to 850 °C."""
    loop = sketch.temperature_loop(range_="0-1000 degC")
    assert "850" in checks_of(loop)[0].missing


def test_a_loop_without_instruments_has_no_check():
    assert checks_of(replace(sketch.temperature_loop(), tags=(), links=())) == []
