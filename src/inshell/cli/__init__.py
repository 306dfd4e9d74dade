"""The command line: parse, call a use case, show."""

from inshell.cli.run import main

__all__ = ["main"]
