import os
import subprocess

import psycopg
import pytest
from django.core.exceptions import ImproperlyConfigured

from register.bootstrap.postgresql import server_programs, throwaway_server
from register.settings import database

pytestmark = pytest.mark.skipif(server_programs() is None, reason="PostgreSQL's server programs were not found")


def test_the_server_answers_over_its_socket_and_leaves_nothing_behind_after_a_failure():
    with pytest.raises(ImproperlyConfigured, match="the tests broke off"), throwaway_server(server_programs()) as url:
        folder = database(url)["OPTIONS"]["host"]
        with psycopg.connect(host=folder, user="register", dbname="postgres") as connection:
            assert connection.execute("SELECT 6 * 7").fetchone() == (42,)
            assert connection.execute("SHOW listen_addresses").fetchone() == ("",)
        raise ImproperlyConfigured("the tests broke off")
    assert not os.path.exists(folder)
    assert folder not in subprocess.run(["ps", "-A", "-o", "args"], capture_output=True, text=True).stdout
