#!/usr/bin/env python
"""Halfbay's commands: `python manage.py help`."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "remodel.settings")
    from django.conf import settings
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        assert settings.DATA_DIR  # read before the commands are, which would print a traceback
    except ImproperlyConfigured as error:
        sys.exit(str(error))
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
