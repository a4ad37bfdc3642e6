#!/usr/bin/env python3
"""Every command of the register: `python3 manage.py demo`, `python3 manage.py test`, and Django's own."""

import sys

# This file, alone in the project, keeps to what old Pythons can read, so that they can say what they lack.
if __name__ == "__main__":
    if sys.version_info < (3, 11):  # noqa: UP036
        sys.exit(
            "The register needs Python 3.11 or newer, and this is Python {}.{}: "
            "install a newer one and use it to run manage.py, such as `python3.11 manage.py {}`.".format(
                sys.version_info[0], sys.version_info[1], " ".join(sys.argv[1:])
            )
        )
    from register.bootstrap import prepare

    prepare(sys.argv)

    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(str(error))
