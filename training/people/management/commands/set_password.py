"""manage.py set_password USERNAME: a manager sets the password with which somebody signs in."""

from __future__ import annotations

import getpass
import sys
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.people.actions import set_password
from training.people.models import Person


class Command(BaseCommand):
    help = "Set the password of one person; asks for it twice, or reads one line with --password-from-stdin."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")
        parser.add_argument("--password-from-stdin", action="store_true")

    def handle(self, *, username: str, password_from_stdin: bool, **_options: Any) -> None:
        person = Person.objects.filter(username=username).first()
        if person is None:
            raise CommandError(f"There is nobody with the username {username!r}.")
        password = sys.stdin.readline().rstrip("\r\n") if password_from_stdin else _asked_twice()
        try:
            validate_password(password, person)
        except ValidationError as error:
            raise CommandError("Nothing was changed. " + " ".join(error.messages)) from error
        set_password(person=person, password=password)
        self.stdout.write(f"{person.full_name} can sign in as {username} with the new password.")


def _asked_twice() -> str:
    first = getpass.getpass("New password: ")
    if first != getpass.getpass("Again: "):
        raise CommandError("The two do not match. Nothing was changed.")
    return first
