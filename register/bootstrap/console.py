"""What a person at the terminal reads while something takes time, or when it cannot go on."""

import sys
from typing import NoReturn


def step(text: str) -> None:
    """Say what begins now."""
    print(f"→ {text}", flush=True)


def detail(text: str) -> None:
    """Say how the step goes on."""
    print(f"  {text}", flush=True)


def give_up(text: str) -> NoReturn:
    """End with one sentence that says what is wrong and how to put it right."""
    sys.exit(f"✗ {text}")
