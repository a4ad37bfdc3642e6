"""The calculations as their own code states them: what each takes and gives, its limits, its source, an example."""

from __future__ import annotations

import doctest
import importlib
import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

MODULES = (
    "units",
    "ranges",
    "signals",
    "thermocouples",
    "rtd",
    "calibration",
    "accuracy",
    "loop_power",
    "intrinsic_safety",
    "serial_bus",
    "control",
    "reliability",
    "panel",
    "identity",
)


@dataclass(frozen=True)
class Calculation:
    """One function: its text by paragraphs, its source, and examples of a call with what it gives."""

    name: str
    call: str
    paragraphs: tuple[str, ...]
    source: str
    examples: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Theme:
    """One module."""

    name: str
    heading: str
    calculations: tuple[Calculation, ...]


@cache
def themes() -> tuple[Theme, ...]:
    return tuple(_theme(name) for name in MODULES)


def _theme(name: str) -> Theme:
    module = importlib.import_module(f"register.calc.{name}")
    heading = re.split(r"[:;,]|\.(?:\s|$)", inspect.getdoc(module), maxsplit=1)[0]
    return Theme(name, heading, tuple(calculation(function) for function in public_functions(module)))


def public_functions(module: object) -> list[Callable]:
    """Functions that a module makes and shows by an example, in its own order."""
    return [
        one
        for name, one in vars(module).items()
        if inspect.isfunction(one)
        and one.__module__ == module.__name__
        and not name.startswith("_")
        and ">>>" in (one.__doc__ or "")
    ]


def calculation(function: Callable) -> Calculation:
    text, *_ = inspect.getdoc(function).partition(">>>")
    body, _, source = text.partition("Source: ")
    examples = doctest.DocTestParser().get_examples(inspect.getdoc(function))
    signature = ", ".join(inspect.signature(function).parameters)
    return Calculation(
        function.__name__,
        f"{function.__name__}({signature})",
        tuple(_plain(paragraph) for paragraph in body.split("\n\n") if paragraph.strip()),
        _plain(source),
        tuple((example.source.strip(), example.want.strip()) for example in examples),
    )


def _plain(text: str) -> str:
    """Without the marks that documentation tools read."""
    return " ".join(re.sub(r"``|:\w+:(?=`)|`", "", text).split())
