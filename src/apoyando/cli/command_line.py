"""The command line as it was typed: what the option library refuses of it, told in our words."""

import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import typer
from typer.core import TyperGroup

from apoyando.cli.outcome import ExitCode
from apoyando.cli.telling import tell
from apoyando.files import name_reason
from apoyando.model.errors import UsageError


class Commands(TyperGroup):
    """All commands. Wrong use of any is one line, like every other error, and exit code 2."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,  # noqa: ANN401 - as the library has it
    ) -> Any:  # noqa: ANN401 - as the library has it
        """Run the command and end the program, whatever ``standalone_mode`` says."""
        del standalone_mode
        try:
            code = super().main(
                args,
                prog_name,
                complete_var,
                standalone_mode=False,
                windows_expand_args=windows_expand_args,
                **extra,
            )
        except UsageError as error:
            code = _tell(str(error))
        except typer.TyperException as error:
            code = _tell(_reword(error))
        except OSError as error:
            code = _tell(f"what there is to show cannot be written ({name_reason(error)}). Make room there.")
        sys.exit(code or ExitCode.DONE)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:  # noqa: ANN401 - the library's own types
        """Raises UsageError where there is no such command."""
        name = args[0]
        if not name.startswith("-") and name not in self.commands:
            raise UsageError(f"there is no command {name}. The commands are: {', '.join(self.commands)}.")
        return super().resolve_command(ctx, args)


def whole_between(option: str, lowest: int, highest: int) -> Callable[[str], int]:
    """Reads a whole number within bounds, both included; what it gives raises UsageError."""

    def read(text: str) -> int:
        number = read_typed(text)
        if not isinstance(number, int) or not lowest <= number <= highest:
            raise _misread(option, text, f"write a whole number from {lowest} to {highest}")
        return number

    return read


def number_between(option: str, lowest: float, highest: float) -> Callable[[str], float]:
    """Reads a number within bounds, both included; what it gives raises UsageError."""

    def read(text: str) -> float:
        number = read_typed(text)
        if isinstance(number, str) or not lowest <= number <= highest:
            raise _misread(option, text, f"write a number from {lowest:g} to {highest:g}")
        return float(number)

    return read


def path_for(what: str) -> Callable[[str], Path]:
    """Reads the name of a file or a folder; what it gives raises UsageError for a name that is empty,
    which the disk would take for the folder that one is in.
    """

    def read(text: str) -> Path:
        if not text:
            raise UsageError(f"{what}: the name is empty. Write one, or . for the folder that you are in.")
        return Path(text)

    return read


def read_typed(text: str) -> float | str:
    """A number where one was typed, whole where it was typed whole; else the text as it is."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def _misread(option: str, text: str, right: str) -> UsageError:
    return UsageError(f"{option}: {text} cannot be meant: {right}.")


def _tell(what: str) -> ExitCode:
    tell(f"apoyando: {' '.join(what.split())}", is_trouble=True)
    return ExitCode.USAGE


def _reword(error: typer.TyperException) -> str:
    """The library tells the kinds of wrong use apart by what its errors carry."""
    context = getattr(error, "ctx", None)
    command = context.info_name if context and context.parent else ""
    see_help = f"{' '.join(filter(None, ('apoyando', command)))} --help names all that it takes."
    option = getattr(error, "option_name", "")
    near: Sequence[str] | None = getattr(error, "possibilities", None)
    if option and "no such option" in error.message.lower():
        return f"there is no option {option}{f'; is {near[0]} meant?' if near else '.'} {see_help}"
    if option and "not take a value" in error.message:
        return f"{option} takes no value. Write it alone."
    if option:
        return f"{option} is named without its value. Write the value after it, as --help shows."
    if isinstance(error, typer.BadParameter) and error.param and error.param.required:
        return f"{command} is given no {error.param.metavar}. Name one; {see_help}"
    extra = re.search(r"unexpected extra argument.*\((.*)\)", error.message)
    return f"{command} cannot use {extra[1]}. Leave it out; {see_help}" if extra else error.message
