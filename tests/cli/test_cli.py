"""The command starts fast, tells mistakes in words and keeps its promises on exit codes."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from importlib.util import find_spec

import click
import pytest
from click.testing import CliRunner

from tubside import __version__
from tubside.cli import COMMANDS, main
from tubside.cli.lazy import LazyGroup
from tubside.errors import UnknownNameError


def test_help_loads_no_command() -> None:
    """Tests that --help lists every command without importing what commands need."""
    code = (
        "import sys\nfrom tubside.cli import main\n"
        "try:\n    main(['--help'])\n"
        "finally:\n    print(sorted({'numpy', 'yaml', 'msgspec', 'rich'} & set(sys.modules)))\n"
    )
    got = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert got.stdout.rstrip().endswith("[]")
    assert all(name in got.stdout for name in COMMANDS)


def test_python_m_tubside_is_the_command() -> None:
    """Tests that the module form prints the version."""
    command = [sys.executable, "-m", "tubside", "--version"]
    got = subprocess.run(command, capture_output=True, text=True, check=True)
    assert __version__ in got.stdout


@pytest.mark.parametrize("name", ["pack"])
def test_short_help_is_the_command_s_own(name: str) -> None:
    """Tests that the text held in the list is the first sentence of the command's help."""
    module, attribute = COMMANDS[name][0].split(":")
    assert find_spec(module)
    command = getattr(import_module(module), attribute)
    assert COMMANDS[name][1] == (command.help or "").splitlines()[0]


def test_a_misspelt_command_gets_a_suggestion() -> None:
    """Tests that an unknown command exits with 2 and names the nearest one."""
    got = CliRunner().invoke(main, ["pakc"])
    assert got.exit_code == 2
    assert "did you mean 'pack'?" in got.stderr


def raising() -> click.Command:
    """Return a command that meets a user's mistake."""

    @click.command()
    def command() -> None:
        msg = "there is no such machine"
        raise UnknownNameError(msg)

    return command


RAISING = raising()


def test_a_user_s_mistake_is_told_without_traceback() -> None:
    """Tests that a TubsideError goes to stderr as its words, with exit code 2."""
    lazy = {"try": (f"{__name__}:RAISING", "Try it.")}
    sys.modules.setdefault(__name__, sys.modules[raising.__module__])
    group = LazyGroup("shed", lazy=lazy)
    got = CliRunner().invoke(group, ["try"])
    assert (got.exit_code, got.stdout, got.stderr) == (2, "", "there is no such machine\n")
