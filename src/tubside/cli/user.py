"""``tubside user``: who may log in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import IO, TYPE_CHECKING

import click

from tubside.cli.app_extra import require_app

if TYPE_CHECKING:
    from tubside.service.logins import Role
    from tubside.store.opening import Store

data_option = click.option(
    "--data", metavar="FOLDER", help="Where the shop's data is: a folder, or postgresql://..."
)
password_option = click.option(
    "--password-file",
    type=click.File("r", encoding="utf-8"),
    help="Take the password from the first line of a file (- for standard input).",
)


@click.group("user")
def user_group() -> None:
    """Say who may log in, and end sessions."""
    require_app()


@user_group.command("add")
@click.argument("name")
@click.option(
    "--role",
    type=click.Choice(["technician", "office"]),
    default="technician",
    show_default=True,
    help="The office may also end the sessions of others.",
)
@password_option
@data_option
def add_command(name: str, role: Role, password_file: IO[str] | None, data: str | None) -> None:
    """Add an account; the password is asked for and not shown.

    From the first account on, every page asks for a login.
    """
    from tubside.service.logins import User, add_user  # noqa: PLC0415  # start-up stays fast

    password = _password(password_file)
    with _store(data) as store:
        add_user(store, User(name, role, datetime.now(UTC)), password)
    click.echo(f"{name} may log in ({role}).")


@user_group.command("password")
@click.argument("name")
@password_option
@data_option
def password_command(name: str, password_file: IO[str] | None, data: str | None) -> None:
    """Give an account another password, and end its sessions."""
    from tubside.service.logins import change_password  # noqa: PLC0415

    password = _password(password_file)
    with _store(data) as store:
        ended = change_password(store, name, password)
    click.echo(f"{name} has a new password; {_sessions(ended)} ended.")


@user_group.command("list")
@data_option
def list_command(data: str | None) -> None:
    """List the accounts, and where each is logged in."""
    from tubside.service.logins import sessions, users  # noqa: PLC0415

    with _store(data) as store:
        found, opened = users(store), sessions(store, datetime.now(UTC))
    if not found:
        click.echo("There is no account; add one with: tubside user add NAME")
    for user in found:
        click.echo(f"{user.name}  {user.role}, since {user.since:%Y-%m-%d}")
        for session in opened:
            if session.user.name == user.name:
                click.echo(f"    last seen {session.seen_at:%Y-%m-%d %H:%M} UTC  {session.device}")


@user_group.command("end-sessions")
@click.argument("name")
@data_option
def end_sessions_command(name: str, data: str | None) -> None:
    """Log an account out everywhere."""
    from tubside.service.logins import end_sessions  # noqa: PLC0415

    with _store(data) as store:
        ended = end_sessions(store, name)
    click.echo(f"{_sessions(ended)} of {name} ended.")


@user_group.command("remove")
@click.argument("name")
@data_option
def remove_command(name: str, data: str | None) -> None:
    """Remove an account and end its sessions; what it wrote stays."""
    from tubside.service.logins import remove_user  # noqa: PLC0415

    with _store(data) as store:
        ended = remove_user(store, name)
    click.echo(f"{name} may no longer log in; {_sessions(ended)} ended.")


@contextmanager
def _store(data: str | None) -> Iterator[Store]:
    from tubside.service.data_folder import default_folder, open_data  # noqa: PLC0415

    store = open_data(data or default_folder(), lambda: datetime.now(UTC))
    try:
        yield store
    finally:
        store.close()


def _password(file: IO[str] | None) -> str:
    if file is not None:
        return file.readline().rstrip("\r\n")
    return str(click.prompt("Password", hide_input=True, confirmation_prompt="Once more"))


def _sessions(number: int) -> str:
    return "1 session" if number == 1 else f"{number} sessions"
