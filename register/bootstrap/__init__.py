"""What happens before Django can be imported: the standard library alone makes a fresh machine ready for it."""

import os
import secrets
from pathlib import Path
from urllib.parse import quote

from register.bootstrap.environment import install_requirements, use_environment
from register.bootstrap.native import ensure_pdf_libraries

BASE_DIR = Path(__file__).resolve().parent.parent.parent
VENV = BASE_DIR / ".venv"
REQUIREMENTS = [BASE_DIR / "requirements.txt"]
TEST_REQUIREMENTS = [*REQUIREMENTS, BASE_DIR / "tests" / "requirements.txt"]
SIGN_NOTHING = ("check_values", "bench")
"""Commands that serve nobody: any key will do for them, so that they run on a machine where none was set."""


def prepare(argv: list[str]) -> None:
    """Make this process able to run the command; may start it again inside .venv, or end it with a remedy."""
    command = argv[1] if len(argv) > 1 else "help"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings" if command == "test" else "register.settings")
    if command == "demo":
        install_requirements(VENV, REQUIREMENTS)
        ensure_pdf_libraries()
        keep_demo_apart()
    elif command == "test":
        install_requirements(VENV, TEST_REQUIREMENTS)
        ensure_pdf_libraries()
    else:
        use_environment(VENV, REQUIREMENTS)
        if command in SIGN_NOTHING:
            os.environ.setdefault("SECRET_KEY", secrets.token_urlsafe(50))


def keep_demo_apart() -> None:
    """Give the demo, whose passwords everyone knows, a database and a key of its own, away from any plant's."""
    var = Path(os.environ.get("VAR_DIR") or BASE_DIR / "var").resolve()
    var.mkdir(parents=True, exist_ok=True)
    key = var / "secret-key"
    if not key.exists():
        key.touch(mode=0o600)
        key.write_text(secrets.token_urlsafe(50))
    os.environ["DATABASE_URL"] = f"sqlite:///{quote(str(var / 'demo.sqlite3'))}"
