#!/usr/bin/env python
"""Runs a management command; without any HOOKSIDE_ setting it works on the demo in the checkout."""

from __future__ import annotations

import os
import sys

CHOICES = ("HOOKSIDE_SECRET_KEY", "HOOKSIDE_DATABASE_URL", "HOOKSIDE_DEBUG", "HOOKSIDE_DEMO")


def main() -> None:
    """Run the command named on the command line."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "training.config.settings")
    # the web server and the workers start from wsgi.py and celery.py and never fall back to the demo
    if not any(name in os.environ for name in CHOICES):
        os.environ["HOOKSIDE_DEMO"] = "1"
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
