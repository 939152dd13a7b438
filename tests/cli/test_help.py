from importlib import import_module

import click
import pytest

from tests.cli.conftest import Voiceflow
from voiceflow.cli.main import CAUTION, COMMANDS


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(voiceflow: Voiceflow, name: str) -> None:
    result = voiceflow(name, "--help")
    assert result.exit_code == 0
    assert f"voiceflow {name}" in result.stdout
    command: click.Command = import_module(f"voiceflow.cli.{name}").command
    assert command.name == name
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{name} {parameter.opts[0]} has no help"


def test_the_first_page_lists_the_commands_and_the_cautions(voiceflow: Voiceflow) -> None:
    result = voiceflow("--help")
    for name, what in COMMANDS.items():
        assert name in result.stdout
        assert what in " ".join(result.stdout.split())
    assert CAUTION in " ".join(result.stdout.split())


def test_the_version_is_told(voiceflow: Voiceflow) -> None:
    assert voiceflow("--version").stdout.startswith("voiceflow, version ")
