"""How a command ends that does not end well: a sentence for each mistake, its exit code, never a traceback."""

from __future__ import annotations

import contextlib
import json
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from dataclasses import asdict

import click

from halfsplit import __version__
from halfsplit.errors import BadInput, HalfsplitError, Problem, Uncomputable, WrongUse

OWN_FAULT = 70
"""Exit code where Halfsplit itself is wrong (EX_SOFTWARE of the BSD sysexits; from memory)."""
LOOK = "Look for the mistake in it with: halfsplit check FILE"
"""What to do about a machine file that was read and cannot be computed."""
INTERRUPTED = 130
"""Exit code after Ctrl-C, as shells have it."""


def guarded(run: Callable[[], object], as_json: bool) -> int:
    """Runs a command and turns whatever ends it into words on stderr and an exit code."""
    try:
        code = run()
        sys.stdout.flush()
    except (click.exceptions.Abort, KeyboardInterrupt, EOFError):
        return _told(INTERRUPTED, "Stopped.")
    except click.exceptions.Exit as end:
        return end.exit_code
    except click.ClickException as error:
        return _wrong_use(_sentence(error), as_json)
    except BadInput as error:
        return _problems(error.exit_code, error.problems, as_json)
    except Uncomputable as error:
        return _wrong_use(f"the machine file cannot be computed ({error}). {LOOK}", as_json, error.exit_code)
    except HalfsplitError as error:
        return _wrong_use(str(error), as_json)
    except BrokenPipeError:
        return _pipe_closed()
    except Exception:
        return _own_fault()
    return code if isinstance(code, int) else 0


def _told(code: int, *lines: str) -> int:
    for line in lines:
        print(line, file=sys.stderr)
    return code


def _wrong_use(message: str, as_json: bool, code: int = WrongUse.exit_code) -> int:
    if as_json:
        print(json.dumps({"problems": [asdict(Problem("", 0, 0, message, ""))]}))
    return _told(code, f"halfsplit: {message}")


def _problems(code: int, problems: Sequence[Problem], as_json: bool) -> int:
    if as_json:
        print(json.dumps({"problems": [asdict(problem) for problem in problems]}))
    return _told(code, *map(str, problems))


def _sentence(error: click.ClickException) -> str:
    """Click's message and, where it knows the command, how to read more about it."""
    message = error.format_message()
    context = getattr(error, "ctx", None)
    return f"{message} Read: {context.command_path} --help" if context else message


def _pipe_closed() -> int:
    """Whoever read our output has gone: nothing more is written, as is usual."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


def _own_fault() -> int:
    if os.environ.get("HALFSPLIT_DEBUG"):
        traceback.print_exc()
    words = traceback.format_exception_only(*sys.exc_info()[:2])[-1].strip()
    return _told(
        OWN_FAULT,
        f"halfsplit: this is a mistake of Halfsplit {__version__}, not yours ({words}).",
        "Nothing was changed. Please report it where you got Halfsplit, with the command, the file, and what",
        "the same command prints after HALFSPLIT_DEBUG=1 has been set.",
    )
