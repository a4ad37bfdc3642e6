"""The way of doing tasks that needs no worker: each in a thread of the process that asked for it."""

from __future__ import annotations

import threading

from django.db import connections, transaction
from django_tasks.backends.immediate import ImmediateBackend


class ThreadBackend(ImmediateBackend):
    def enqueue(self, task, args, kwargs) -> None:
        """Begin the task once the caller's transaction is written."""
        self.validate_task(task)

        def do() -> None:
            try:
                super(ThreadBackend, self).enqueue(task, args, kwargs)
            finally:
                connections.close_all()

        transaction.on_commit(lambda: threading.Thread(target=do, daemon=True).start())
