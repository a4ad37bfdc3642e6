from __future__ import annotations

from collections.abc import Iterator

from register.plant import sketch
from register.plant.keying import signal_label
from register.plant.values import Loop
from register.plant.words import Severity
from register.rules.engine import Finding, finding, rule
from register.rules.reading import measuring_input


@rule(
    "range-beyond-input",
    severity=Severity.ERROR,
    source="the model's data sheet",
    wrong=sketch.with_input_limits(sketch.temperature_loop(), "TIC-101", "pt100", "0-150 degC"),
    right=sketch.with_input_limits(sketch.temperature_loop(), "TIC-101", "pt100", "0-200 degC"),
)
def range_beyond_input(loop: Loop) -> Iterator[Finding]:
    """The range lies inside what the model's input measures with this type of signal.

    Why: beyond it the reading stays at the limit of the input, or burn-out is shown with the sensor sound.

    Remedy: narrow the range, use a sensor type that the input measures further, or fit another model.
    """
    for tag in loop.tags:
        settings, port = tag.settings, measuring_input(tag)
        if settings is None or settings.range is None or port is None:
            continue
        key = settings.input_signal or port.signal
        offered = tag.model_port(port)
        taken = offered.signal(key) if offered and key else None
        limits = taken.limits if taken else None
        if limits and limits.comparable(settings.range) and not limits.contains_range(settings.range):
            yield finding(
                tag,
                "its range is {range}; {model} measures {signal} over {limits}",
                place=port.name,
                range=settings.range,
                model=tag.provider(port),
                signal=signal_label(key),
                limits=limits,
            )
