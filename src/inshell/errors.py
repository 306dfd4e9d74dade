"""What can go wrong, as exceptions that carry their facts."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing wrong with what was given: where, what was found, what is accepted, what to do."""

    where: str
    found: str
    accepted: str
    action: str = ""
    line: int | None = None

    def sentence(self) -> str:
        """The problem as one line of text."""
        place = f"{self.where} (line {self.line})" if self.line else self.where
        text = f"{place}: {self.found}; accepted: {self.accepted}"
        return f"{text}. {self.action}" if self.action else text + "."


class InshellError(Exception):
    """Base of every error that this package raises on purpose."""


class InputRefused(InshellError):  # noqa: N818  (it names what happened, not a fault of the program)
    """No meaningful number can be had from what was given. Carries every problem that was found."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        super().__init__("\n".join(problem.sentence() for problem in problems))


class NotConverged(InshellError):  # noqa: N818
    """An iteration ended without an answer."""

    def __init__(self, what: str, *, iterations: int, residual: float) -> None:
        self.what, self.iterations, self.residual = what, iterations, residual
        super().__init__(f"{what} did not converge: residual {residual:.3g} after {iterations} iterations")


def refuse(where: str, found: str, accepted: str, action: str = "") -> InputRefused:
    """An InputRefused that holds one problem."""
    return InputRefused([Problem(where=where, found=found, accepted=accepted, action=action)])
