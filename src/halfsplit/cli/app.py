"""The command `halfsplit` and its commands, in the order of a job."""

from __future__ import annotations

import click

from halfsplit import __version__
from halfsplit.cli import (
    check,
    closing,
    completion,
    diagnose,
    draw,
    expect,
    export,
    guide,
    machines,
    pace,
    rehearse,
    visit,
)


class InOrder(click.Group):
    """Lists its commands in the order in which they were added."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands."""
        return list(self.commands)


@click.group(cls=InOrder, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="halfsplit")
def app() -> None:
    """Find the fault in a household appliance.

    From a machine file alone Halfsplit computes what every fault would show, which finding would tell most
    for the least minutes, and what your findings rule out.

    \b
    Begin with one of these:
      halfsplit guide                                    one step at a time, in plain words
      halfsplit machines                                 what the library holds
      halfsplit diagnose vented-dryer findings.yaml      weigh findings that are written down

    FILE is a machine file or the name of a machine in the library. A terminal is written PART.TERMINAL,
    a fault PART: MODE. Exit codes: 0 done, 1 the answer is no, 2 wrong use, 3 bad input file.
    """


for module in (guide, machines, check, expect, diagnose, visit, closing, draw, export, rehearse, pace, completion):
    app.add_command(module.command)
