"""`python -m inshell`."""

from inshell.cli import main

main()
