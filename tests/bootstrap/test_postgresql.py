import os
import subprocess

import psycopg
import pytest

from register.bootstrap.postgresql import server_programs, throwaway_server
from register.settings import database

pytestmark = pytest.mark.skipif(server_programs() is None, reason="PostgreSQL's server programs were not found")


def ask_and_break_off(folders: list[str]) -> None:
    with throwaway_server(server_programs()) as url:
        folders.append(database(url)["OPTIONS"]["host"])
        with psycopg.connect(host=folders[0], user="register", dbname="postgres") as connection:
            assert connection.execute("SELECT 6 * 7").fetchone() == (42,)
            assert connection.execute("SHOW listen_addresses").fetchone() == ("",)
        raise KeyboardInterrupt


def test_the_server_answers_over_its_socket_and_leaves_nothing_behind_when_the_run_is_broken_off():
    folders = []
    with pytest.raises(KeyboardInterrupt):
        ask_and_break_off(folders)
    (folder,) = folders
    assert not os.path.exists(folder)
    assert folder not in subprocess.run(["ps", "-A", "-o", "args"], capture_output=True, text=True).stdout
