"""Locks that end with the process that holds them, however it ends: what tells work under way from work that stopped.

PostgreSQL keeps them for the session (a pooler in between must therefore pool sessions, not transactions). Beside an
SQLite file each is a small file, locked as SQLite locks its own.
"""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from django.db import connection

MEANWHILE_S = 1.0
"""How long to wait for somebody who only looks whether a lock is held."""


@contextmanager
def held(name: str, number: int) -> Iterator[bool]:
    """Hold the lock of this name and number inside the frame, and yield True; False where another process holds it."""
    if connection.vendor == "postgresql":
        with _session_lock(name, number) as mine:
            yield mine
    else:
        with _file_lock(name, number, MEANWHILE_S) as mine:
            yield mine


def is_held(name: str, number: int) -> bool:
    """Whether any process holds the lock, this one included."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT EXISTS (SELECT FROM pg_locks WHERE locktype = 'advisory' AND objsubid = 2 AND granted"
                " AND database = (SELECT oid FROM pg_database WHERE datname = current_database())"
                " AND classid = %s::bigint::oid AND objid = %s::bigint::oid)",
                (zlib.crc32(name.encode()), number),
            )
            return cursor.fetchone()[0]
    if not file_beside(name, number).exists():
        return False
    with _file_lock(name, number, 0) as mine:
        return not mine


@contextmanager
def _session_lock(name: str, number: int) -> Iterator[bool]:
    key = (_signed(zlib.crc32(name.encode())), _signed(number & 0xFFFFFFFF))
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(%s, %s)", key)
        mine = cursor.fetchone()[0]
    try:
        yield mine
    finally:
        if mine and connection.connection is not None and not connection.connection.closed:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_unlock(%s, %s)", key)


def _signed(number: int) -> int:
    """The bits of an oid as PostgreSQL's int4 holds them."""
    return number - (1 << 32) if number >= 1 << 31 else number


def file_beside(name: str, number: int) -> Path:
    return Path(f"{connection.settings_dict['NAME']}-locks") / f"{name}-{number}"


@contextmanager
def _file_lock(name: str, number: int, wait_s: float) -> Iterator[bool]:
    path = file_beside(name, number)
    path.parent.mkdir(exist_ok=True)
    with closing(sqlite3.connect(path, timeout=wait_s, isolation_level=None)) as lock:
        try:
            lock.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError:
            yield False
            return
        yield True
        path.unlink(missing_ok=True)
