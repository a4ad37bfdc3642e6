from __future__ import annotations

from decimal import Decimal

import pytest
from msgspec.structs import replace

from register.calc.errors import NoEquivalent
from register.plant import sketch
from register.plant.fitting import bays_for, takes_adaptor_plate, with_model
from register.plant.tuning import as_taken_by
from register.plant.values import Bay, FittedBoard
from register.plant.words import PidForm, ProportionalAs, TimeUnit
from register.rules.engine import check


def two_bays(first: tuple[str, ...], second: tuple[str, ...]):
    return sketch.controller_model(name="Folio", bays=(Bay(name="A", takes=first), Bay(name="B", takes=second)))


def test_a_board_keeps_its_bay_where_the_other_controller_takes_it_there():
    board = FittedBoard(bay="2", model=sketch.relay_board())
    assert bays_for([board], sketch.controller_model()) == {"2": "2"}


def test_no_board_is_left_out_because_another_sits_in_the_only_bay_that_takes_it():
    """The relay board would sit in A, and the linear board fits nowhere else."""
    boards = [FittedBoard(bay="1", model=sketch.relay_board()), FittedBoard(bay="2", model=sketch.linear_board())]
    assert bays_for(boards, two_bays(("relay", "linear output"), ("relay",))) == {"2": "A", "1": "B"}


def test_a_board_that_no_free_bay_takes_is_left_out():
    board = FittedBoard(bay="1", model=sketch.linear_board())
    assert bays_for([board], two_bays(("linear output",), ("relay",)), taken=["A"]) == {}


def test_ports_follow_a_board_that_moves_to_another_bay_so_the_loop_stays_right():
    loop = sketch.temperature_loop()
    model = two_bays(("linear output", "relay"), ("linear output", "relay"))
    boards = loop.tag("TIC-101").asset.boards
    moves = bays_for(boards, model)
    moved = tuple(replace(board, bay=moves[board.bay]) for board in boards)

    rules = {one.rule for one in check(with_model(loop, "TIC-101", model, moved, moved=moves))}
    assert "output-without-board" not in rules

    rules = {one.rule for one in check(with_model(loop, "TIC-101", model, moved))}
    assert "output-without-board" in rules


@pytest.mark.parametrize(("hole", "plate"), [(("92", "92"), True), (("44", "44"), False), ((None, None), False)])
def test_a_plate_closes_a_hole_that_is_larger_than_the_front_needs(hole, plate):
    """A front of 48 × 48 mm needs a hole of 45 × 45 mm (IEC 61554:1999, from memory)."""
    small = sketch.controller_model(front_width_mm=Decimal(48), front_height_mm=Decimal(48))
    width, height = (None if side is None else Decimal(side) for side in hole)
    assert takes_adaptor_plate(small, width, height) is plate


def tuned(**facts):
    return replace(sketch.temperature_loop().tag("TIC-101").settings, **facts)


def keyed(settings) -> tuple[str, ...]:
    return tuple(str(one) for one in (settings.proportional, settings.integral, settings.derivative))


IN_BAND = {
    "proportional": Decimal(50),
    "proportional_as": ProportionalAs.PROPORTIONAL_BAND,
    "integral": Decimal(240),
    "derivative": Decimal(60),
    "time_unit": TimeUnit.SECONDS,
    "pid_form": PidForm.IDEAL,
}


def test_tuning_that_a_model_takes_as_it_stands_is_kept_digit_for_digit():
    settings = tuned(**IN_BAND | {"integral": Decimal("240.50")})
    assert as_taken_by(settings, sketch.controller_model()) == settings


def test_a_band_becomes_a_gain_and_seconds_become_repeats_a_minute():
    """PB 50 % is a gain of 2 (100/PB), Ti 240 s is 0.25 repeats a minute (60/Ti), Td 60 s is 1 min (ISA-51.1)."""
    model = sketch.controller_model(proportional_as=ProportionalAs.GAIN, time_unit=TimeUnit.REPEATS_PER_MINUTE)
    assert keyed(as_taken_by(tuned(**IN_BAND), model)) == ("2", "0.25", "1")


def test_a_series_tuning_is_recast_for_an_ideal_controller():
    """K 2, Ti 40 s, Td 20 s in series: Kc = K (1 + Td/Ti) = 3, Ti + Td = 60 s, Ti Td/(Ti + Td) = 13.33 s (algebra)."""
    typed = {"proportional": Decimal(2), "integral": Decimal(40), "derivative": Decimal(20)}
    series = tuned(**IN_BAND | typed | {"proportional_as": ProportionalAs.GAIN, "pid_form": PidForm.SERIES})
    ideal = sketch.controller_model(proportional_as=ProportionalAs.GAIN)
    assert keyed(as_taken_by(series, ideal)) == ("3", "60", "13.33")


def test_integral_action_that_is_off_stays_off():
    model = sketch.controller_model(time_unit=TimeUnit.REPEATS_PER_MINUTE)
    off = tuned(**IN_BAND | {"integral": Decimal(0), "derivative": Decimal(0)})
    assert keyed(as_taken_by(off, model)) == ("50", "0", "0")


def test_an_ideal_tuning_without_a_series_form_is_refused():
    """Series exists only where Ti ≥ 4 Td (algebra)."""
    with pytest.raises(NoEquivalent, match="four times"):
        as_taken_by(tuned(**IN_BAND | {"integral": Decimal(100)}), sketch.controller_model(pid_form=PidForm.SERIES))


def test_the_parallel_form_is_left_to_the_manual():
    with pytest.raises(NoEquivalent, match="manual"):
        as_taken_by(tuned(**IN_BAND), sketch.controller_model(pid_form=PidForm.PARALLEL))
