"""`halfsplit completion`."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from halfsplit.cli import options, output
from halfsplit.errors import WrongUse


@click.command("completion")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]), metavar="SHELL")
@options.json_option
@click.pass_context
def command(ctx: click.Context, shell: str, as_json: bool) -> None:
    """Print what a shell needs to complete commands, machines, terminals, settings and faults.

    SHELL is bash, zsh or fish. After the terminal has been opened anew, Tab completes.

    \b
    Example:
      halfsplit completion bash >> ~/.bashrc
      halfsplit completion zsh >> ~/.zshrc
      halfsplit completion fish > ~/.config/fish/completions/halfsplit.fish
    """
    kind = get_completion_class(shell)
    if kind is None:
        raise WrongUse(f"Nothing is known of the shell {shell}.", "Choose bash, zsh or fish.")
    script = kind(ctx.find_root().command, {}, "halfsplit", "_HALFSPLIT_COMPLETE").source_template
    text = script % kind(ctx.find_root().command, {}, "halfsplit", "_HALFSPLIT_COMPLETE").source_vars()
    if as_json:
        output.document({"shell": shell, "script": text})
    else:
        click.echo(text)
