"""What the factory writes is what the loader reads: a sketch comes back as it went in."""

import pytest
from msgspec.structs import replace

from register.loading import load_loop
from register.plant import sketch
from register.plant.values import Loop, Model, Surroundings, Tag
from tests import factories


@pytest.mark.parametrize("value", [sketch.temperature_loop(), sketch.pressure_loop()], ids=["heating", "pressure"])
def test_a_sketch_written_by_the_factory_is_loaded_as_it_was(value, db):
    factories.loop(value)
    assert _in_order(load_loop(value.number)) == _in_order(value)


def test_a_neighbour_gets_a_loop_of_its_own(db):
    factories.loop(sketch.cascade())
    assert [tag.name for tag in load_loop("T-102").neighbours] == ["TIC-110"]
    assert [tag.name for tag in load_loop("T-110").neighbours] == ["TIC-102"]


def _in_order(loop: Loop) -> Loop:
    """Without what the plant adds (surroundings, days of installation), and with what has no order sorted."""
    tags = sorted((_bare(tag) for tag in loop.tags), key=lambda tag: tag.name)
    return replace(loop, tags=tuple(tags), surroundings=Surroundings())


def _bare(tag: Tag) -> Tag:
    asset = replace(tag.asset, model=_sorted_bays(tag.asset.model), installed_on=None)
    return replace(tag, asset=asset, specified=_sorted_bays(tag.specified))


def _sorted_bays(model: Model) -> Model:
    return replace(model, bays=tuple(replace(bay, takes=tuple(sorted(bay.takes))) for bay in model.bays))
