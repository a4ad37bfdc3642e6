"""The set-up on machines that lack something. Each is a real run of manage.py on a machine that lacks just that."""

import ast
import os
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

from register.bootstrap.environment import missing

ONE_SENTENCE = 1
"""Lines on the error stream: what is wrong and the remedy, and no stack trace."""


def test_manage_py_can_be_read_by_pythons_from_3_4_on():
    source = (Path(__file__).parent.parent.parent / "manage.py").read_text()
    ast.parse(source, feature_version=(3, 4))


def test_an_old_python_is_told_which_one_it_takes(tmp_path, clean_environment):
    as_python_3_9 = (
        "import runpy, sys; sys.version_info = (3, 9, 2, 'final', 0); sys.argv = ['manage.py', 'demo'];"
        "runpy.run_path('manage.py', run_name='__main__')"
    )
    run = subprocess.run([sys.executable, "-c", as_python_3_9], env=clean_environment, capture_output=True, text=True)
    assert run.returncode == 1
    assert "needs Python 3.11 or newer, and this is Python 3.9" in run.stderr
    assert "`python3.11 manage.py demo`" in run.stderr
    assert len(run.stderr.splitlines()) == ONE_SENTENCE


def test_a_python_without_its_venv_module_names_the_package_to_install(manage, fresh_copy, bare_python, tmp_path):
    """Debian and Ubuntu leave ensurepip out of python3; it comes with the package pythonX.Y-venv."""
    version = f"python3.{sys.version_info.minor}"
    library = tmp_path / "home" / "lib" / version
    library.mkdir(parents=True)
    for entry in Path(os.__file__).parent.iterdir():
        if entry.name not in ("ensurepip", "site-packages"):
            (library / entry.name).symlink_to(entry)
    run = manage("demo", python=bare_python, project=fresh_copy, PYTHONHOME=str(tmp_path / "home"))
    assert run.returncode == 1
    assert f"apt-get install {version}-venv" in run.stderr
    assert len(run.stderr.splitlines()) == ONE_SENTENCE
    assert not (fresh_copy / ".venv").exists()


def test_a_machine_without_network_is_told_so_and_a_broken_environment_is_made_anew(manage, fresh_copy, bare_python):
    broken = fresh_copy / ".venv" / "bin" / "python"
    broken.parent.mkdir(parents=True)
    broken.symlink_to("/no/longer/there/python3")
    nobody_listens = {"PIP_INDEX_URL": "http://127.0.0.1:9/simple", "PIP_CONFIG_FILE": os.devnull}
    run = manage("demo", python=bare_python, project=fresh_copy, **nobody_listens)
    assert run.returncode == 1
    assert "Making" in run.stdout
    assert "Installing the requirements" in run.stdout
    assert "cannot be reached: connect this machine to the network" in run.stderr
    assert len(run.stderr.splitlines()) == ONE_SENTENCE


def test_another_command_without_django_says_what_installs_it(manage, fresh_copy, bare_python):
    run = manage("migrate", python=bare_python, project=fresh_copy, PYTHONNOUSERSITE="1", PYTHONSAFEPATH="")
    assert run.returncode == 1
    assert "run `python3 manage.py demo` once" in run.stderr
    assert len(run.stderr.splitlines()) == ONE_SENTENCE


def test_a_requirement_counts_as_missing_unless_it_has_the_pinned_version(tmp_path):
    file = tmp_path / "requirements.txt"
    now = metadata.version("pytest")
    lines = [
        "# tools",
        f"pytest=={now}   # the runner",
        f"pytest[dev]=={now}",
        "pytest==0.0.1",
        "",
        "no-such-thing==1.0",
    ]
    file.write_text("\n".join(lines))
    assert missing([file]) == ["pytest==0.0.1", "no-such-thing==1.0"]


@pytest.fixture
def without_pdf_libraries(tmp_path) -> tuple[Path, Path]:
    """A WeasyPrint that fails as it does without Pango until a file appears, and a folder of programs with apt-get.

    That apt-get notes what it is asked and makes the file appear.
    """
    installed, programs, modules = tmp_path / "installed", tmp_path / "programs", tmp_path / "modules"
    programs.mkdir()
    modules.mkdir()
    (modules / "weasyprint.py").write_text(
        f"import os\nif not os.path.exists({str(installed)!r}):\n"
        "    raise OSError(\"cannot load library 'libgobject-2.0-0'\")\n"
    )
    apt_get = programs / "apt-get"
    apt_get.write_text(f'#!/bin/sh\necho "$*" >> {installed}.asked\ncase "$*" in *install*) : > {installed};; esac\n')
    apt_get.chmod(0o755)
    return modules, programs


def test_without_the_pdf_libraries_the_command_that_brings_them_is_named(manage, without_pdf_libraries):
    modules, programs = without_pdf_libraries
    (programs / "apt-get").rename(programs / "dnf")
    run = manage("demo", PYTHONPATH=str(modules), PATH=str(programs))
    assert run.returncode == 1
    assert "`sudo dnf install pango" in run.stderr
    assert len(run.stderr.splitlines()) == ONE_SENTENCE


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may install packages")
def test_on_debian_as_root_the_pdf_libraries_are_installed_and_that_is_said(manage, without_pdf_libraries, tmp_path):
    modules, programs = without_pdf_libraries
    run = manage("test", "--version", PYTHONPATH=str(modules), PATH=f"{programs}:{os.environ['PATH']}")
    assert "Installing the libraries that print PDF with apt-get: libpango-1.0-0" in run.stdout
    update, install = (tmp_path / "installed.asked").read_text().splitlines()
    assert update == "-q update"
    assert install.startswith("-q install -y --no-install-recommends libpango-1.0-0 libpangoft2-1.0-0")
