from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from register.calc.ranges import Range
from register.plant import sketch
from register.plant.values import Loop, Settings
from register.plant.words import Purpose, Severity
from register.rules.engine import Finding, finding, rule, unknown
from register.rules.numbers import misreading
from register.rules.reading import read_range, sent_range


@rule(
    "remote-set-point-scaled-differently",
    severity=Severity.ERROR,
    source="common practice, no source",
    tolerance=("0.1", "% of span"),
    wrong=sketch.cascade(source_range="0-600 degC", target_range="0-400 degC"),
    right=sketch.cascade(source_range="0-400 degC", target_range="0-400 degC"),
)
def remote_set_point_scaled_differently(loop: Loop, tolerance: Decimal) -> Iterator[Finding]:
    """The source of a remote set point and the controller that follows it scale the signal to the same values.

    A ratio and bias that the controller states count.

    Why: at every signal but one the controller works to a set point that nobody asked for.

    Remedy: scale the source or the remote set-point input so that both ends of the signal mean the same, or state the
    ratio and bias that make them so.
    """
    for one in loop.connections(Purpose.REMOTE_SET_POINT):
        if one.target.purpose != Purpose.REMOTE_SET_POINT:
            continue
        sent, read = sent_range(loop, one), read_range(one)
        if sent is None:
            yield unknown(
                one.target_tag,
                "the range that {source} sends it as set point is not recorded",
                place=one.target.name,
                source=one.source_tag.name,
            )
            continue
        if read is None:
            yield unknown(one.target_tag, "the range of its remote set point is not recorded", place=one.target.name)
            continue
        read = with_ratio_and_bias(read, one.target_tag.settings)
        if sent.comparable(read) and not read.matches(sent, tolerance):
            worst = misreading(one, sent, read)
            yield finding(
                one.target_tag,
                "{source} sends {sent}, {target} reads it as {read}"
                + (": asked for {true}, it works to {shown}" if worst else ""),
                place=one.target.name,
                source=one.source_tag.name,
                target=one.target_tag.name,
                sent=sent,
                read=read,
                **({"true": worst.true, "shown": worst.shown} if worst else {}),
            )


def with_ratio_and_bias(read: Range, settings: Settings | None) -> Range:
    """What 0 and 100 % of the remote signal ask for, after ratio and bias."""
    if settings is None or (settings.remote_ratio is None and settings.remote_bias is None):
        return read
    ratio = Decimal(1) if settings.remote_ratio is None else settings.remote_ratio
    bias = settings.remote_bias or Decimal(0)
    if ratio <= 0:
        return read
    return Range(read.low * ratio + bias, read.high * ratio + bias, read.unit, read.reference)
