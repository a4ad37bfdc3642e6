import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parent.parent.parent
OF_THIS_RUN = ("SECRET_KEY", "DJANGO_", "PYTEST_", "REGISTER_", "DATABASE_URL", "VAR_DIR", "DEBUG", "PIP_")


@pytest.fixture
def clean_environment(tmp_path) -> dict[str, str]:
    """The environment of someone who has set nothing for the register, with its files in a folder of the test's own."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(OF_THIS_RUN)}
    return {**kept, "VAR_DIR": str(tmp_path / "var")}


@pytest.fixture
def manage(clean_environment) -> Callable:
    """Runs manage.py as a person at a terminal would, and gives what it printed and its exit code."""

    def manage(*arguments: str, python: str = sys.executable, project: Path = PROJECT, **environment: str):
        return subprocess.run(
            [python, project / "manage.py", *arguments],
            env={**clean_environment, **environment},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=300,
        )

    return manage


@pytest.fixture
def fresh_copy(tmp_path) -> Path:
    """A folder with what the set-up needs of the project, and no .venv."""
    copy = tmp_path / "copy"
    (copy / "register").mkdir(parents=True)
    shutil.copy(PROJECT / "manage.py", copy)
    shutil.copy(PROJECT / "requirements.txt", copy)
    shutil.copy(PROJECT / "register" / "__init__.py", copy / "register")
    shutil.copytree(PROJECT / "register" / "bootstrap", copy / "register" / "bootstrap")
    return copy


@pytest.fixture
def bare_python() -> str:
    """The Python from which this environment was made: it has none of the requirements."""
    return sys._base_executable
