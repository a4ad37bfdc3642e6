"""Reads PDF files as their readers see them."""

import os
import shutil
import subprocess
from collections.abc import Callable

import pytest


@pytest.fixture(scope="session")
def pdf_text() -> Callable[[bytes], str]:
    """Gives the text of a PDF as its readers see it."""
    program = shutil.which("pdftotext")
    if program is None:
        complain = pytest.fail if os.environ.get("REGISTER_REQUIRE_ALL") else pytest.skip
        complain("pdftotext was not found (Debian: apt-get install poppler-utils)")

    def pdf_text(content: bytes) -> str:
        read = subprocess.run([program, "-layout", "-", "-"], input=content, capture_output=True, check=True)
        return read.stdout.decode()

    return pdf_text
