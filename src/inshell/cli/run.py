"""The way in: exit codes, and one report of what was refused.

0 nothing broken, 1 a promise is broken, 2 the input was refused, 3 internal failure, 130 interrupted.
"""

from __future__ import annotations

import io
import json
import os
import sys
from typing import Any

from typer.exceptions import Abort, TyperException

from inshell.errors import InputRefused, InshellError, Problem

INTERRUPTED = 130


def main() -> None:
    """Run the command line and leave with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and (stream.encoding or "").lower().replace("-", "") != "utf8":
            stream.reconfigure(errors="replace")
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:  # noqa: PLR0911  (one return a way of ending)
    """Run one command; returns the exit code."""
    from inshell.cli.app import app

    as_json = "--json" in arguments
    try:
        result = app(arguments, standalone_mode=False)
    except InputRefused as refused:
        return _refused(refused.problems, as_json)
    except TyperException as error:
        return _usage(error, as_json)
    except (Abort, KeyboardInterrupt):
        return _interrupted()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # whoever read has seen enough
        return 0
    except OSError as error:
        if error.filename is not None:
            return _failed(f"{type(error).__name__}: {error}", as_json, trace=True)
        print(f"The output could not be written: {error.strerror}", file=sys.stderr)
        return 2
    except InshellError as error:
        return _failed(str(error), as_json)
    except Exception as error:
        return _failed(f"{type(error).__name__}: {error}", as_json, trace=True)
    if result == INTERRUPTED:  # the command line's own way of telling it
        return _interrupted()
    return result if isinstance(result, int) else 0


def _interrupted() -> int:
    print("interrupted; nothing was half-written", file=sys.stderr)
    return INTERRUPTED


def _usage(error: TyperException, as_json: bool) -> int:
    if as_json:
        return _refused([Problem("command line", error.format_message(), "see --help")], as_json)
    print(f"{error.format_message()}\nSee: inshell --help", file=sys.stderr)
    return 2


def _refused(problems: list[Problem], as_json: bool) -> int:
    if as_json:
        print(json.dumps({"refused": [_problem_json(p) for p in problems]}, ensure_ascii=False, indent=1))
        return 2
    count = len(problems)
    print(f"Refused: {count} problem{'s' if count != 1 else ''}. No file was changed.", file=sys.stderr)
    for problem in problems:
        place = f"{problem.where}" + (f" (line {problem.line})" if problem.line else "")
        print(f"\n  {place}", file=sys.stderr)
        print(f"    found:    {problem.found}", file=sys.stderr)
        print(f"    accepted: {problem.accepted}", file=sys.stderr)
        if problem.action:
            print(f"    do:       {problem.action}", file=sys.stderr)
    return 2


def _problem_json(problem: Problem) -> dict[str, Any]:
    return {
        "where": problem.where,
        "line": problem.line,
        "found": problem.found,
        "accepted": problem.accepted,
        "action": problem.action,
    }


def _failed(message: str, as_json: bool, *, trace: bool = False) -> int:
    if as_json:
        print(json.dumps({"failed": message}, ensure_ascii=False))
    print(f"Internal failure: {message}", file=sys.stderr)
    if trace and os.environ.get("INSHELL_TRACE"):
        import traceback

        traceback.print_exc()
    elif trace:
        print("Set INSHELL_TRACE=1 to see where, and send the file with it.", file=sys.stderr)
    return 3
