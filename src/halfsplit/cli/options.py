"""Arguments and options that several commands share, and what the shell offers when Tab is pressed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import click
from click.shell_completion import CompletionItem

Decorated = TypeVar("Decorated", bound=Callable[..., Any])


class Finite(click.FloatRange):
    """A number within its range; what is no number or without end is none, though it compares with everything."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number, or a refusal."""
        found = float(super().convert(value, param, ctx))
        if not math.isfinite(found):
            self.fail(f"{value!r} is no plain number. Write one as in 20.", param, ctx)
        return found


Completer = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


class Completable(click.Command):
    """A command that knows its machine while a later option is still being typed."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Leaves out an option that lacks its value while Tab is pressed: it would hide the arguments."""
        unfinished = ctx.resilient_parsing and args and args[-1].startswith("-")
        return super().parse_args(ctx, args[:-1] if unfinished else args)


def machine_files(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of the library, and files."""
    from halfsplit.machine import library

    names = [CompletionItem(name) for name in library.names() if name.startswith(incomplete)]
    return [*names, CompletionItem(incomplete, type="file")]


def of_the_machine(kind: str) -> Completer:
    """Offers the terminals, faults or settings of the machine that stands before on the line."""

    def offered(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        from halfsplit.service import names

        found = names.offered(str(ctx.params.get("file") or ""), kind)
        return [CompletionItem(name) for name in found if name.startswith(incomplete)]

    return offered


TERMINAL: dict[str, Any] = {"metavar": "TERMINAL", "shell_complete": of_the_machine("terminals")}
"""Of an option that names a terminal."""


def file_argument(function: Decorated) -> Decorated:
    """The machine."""
    return click.argument("file", shell_complete=machine_files, metavar="FILE")(function)


def findings_files(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Files."""
    return [CompletionItem(incomplete, type="file")]


def json_option(function: Decorated) -> Decorated:
    """One JSON document."""
    return click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")(function)


def cannot_option(function: Decorated) -> Decorated:
    """What cannot be done on this job."""
    return click.option(
        "--cannot", multiple=True, metavar="WHAT", shell_complete=of_the_machine("refusals"),
        help="A bay that will not open, a part that will not lift out, a function the meter lacks, help, owner or "
        "power.",
    )(function)  # fmt: skip


def worth_option(function: Decorated) -> Decorated:
    """What the owner would spend."""
    return click.option(
        "--worth", type=Finite(0, min_open=True), default=None, metavar="AMOUNT",
        help="What the owner would spend at most, in the machine's currency: stop where it costs more.",
    )(function)  # fmt: skip


def pace_option(function: Decorated) -> Decorated:
    """A shop's own minutes."""
    return click.option(
        "--pace", default="", metavar="PACEFILE", shell_complete=findings_files,
        help="Count minutes as this shop works: a file that `halfsplit pace` made.",
    )(function)  # fmt: skip


def condition_options(function: Decorated) -> Decorated:
    """How the machine stands, and what is wrong with it."""
    for decorate in reversed(list(_condition_options())):
        function = decorate(function)
    return function


def _condition_options() -> Iterable[Callable[[Decorated], Decorated]]:
    many: dict[str, Any] = {"multiple": True, "metavar": "CONTROL=VALUE", "shell_complete": of_the_machine("settings")}
    yield click.option("--set", "set_", **many, help="Where a control stands, or a named setting.")
    yield click.option("--isolated", is_flag=True, help="Unplugged, or the breaker off.")
    many |= TERMINAL
    yield click.option("--lift", **many, help="A terminal whose wires are taken off.")
    many |= {"metavar": "FAULT", "shell_complete": of_the_machine("faults")}
    yield click.option("--fault", **many, help="A fault that is there, as check --faults lists it.")
