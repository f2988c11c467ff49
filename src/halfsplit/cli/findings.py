"""Reads a findings file for a command, and tells on stderr of words in it that count as something else, of readings
that may be meant otherwise, and of what is told both ways."""

from __future__ import annotations

import click

from halfsplit.cli import output
from halfsplit.evidence import finding as f
from halfsplit.machine import model


def read(machine: model.Machine, place: str) -> list[f.Finding]:
    """The findings of a file, or of standard input for "-". Raises BadInput with all that is wrong."""
    from halfsplit.service import diagnosing, naming, read_as, told_both_ways, unlisted

    text, name = output.text_and_name(place)
    found = diagnosing.read_findings(machine, text, name)
    for sentence in (*unlisted.sentences(machine, found), *read_as.sentences(found), *told_both_ways.sentences(found)):
        click.echo(f"{name}: {naming.told(machine, sentence)}", err=True)
    return found
