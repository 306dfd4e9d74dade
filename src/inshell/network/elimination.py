"""In which order rooms are eliminated from their equations, and what each step of it touches.

Doors and partitions join a room to few others, so that most of a matrix of rooms is empty and stays so when rooms with
few neighbours go first (minimum degree; George and Liu 1989, The evolution of the minimum degree ordering algorithm,
from memory). The order and the places that fill up depend on the topology alone and are found once for a run.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass
class Elimination:
    """A symmetric pattern of `count` rooms, ready to be eliminated without pivots.

    A pair joins a room (`early`) to one that is eliminated later (`late`). Pairs stand in the order of elimination;
    those of the t-th room in `order` are start[t] to before start[t + 1]. Values of a matrix are laid out in places:
    first the diagonal by room; then, one for each pair, row late and column early; then row early and column late.

    `fill` names, for each room and each two of its pairs, the place that their product is taken from; `half` the same
    for a symmetric matrix, of which only the diagonal and the rows of late rooms are kept.
    """

    count: int
    order: list[int] = field(default_factory=list)
    start: list[int] = field(default_factory=lambda: [0])
    early: list[int] = field(default_factory=list)
    late: list[int] = field(default_factory=list)
    fill: list[int] = field(default_factory=list)
    half: list[int] = field(default_factory=list)
    pair: dict[tuple[int, int], int] = field(default_factory=dict, repr=False)

    def place(self, row: int, column: int) -> int:
        """Where a value of the matrix stands; KeyError where the pattern is empty."""
        if row == column:
            return row
        if (column, row) in self.pair:
            return self.count + self.pair[column, row]
        return self.count + len(self.early) + self.pair[row, column]

    @property
    def places(self) -> int:
        """How many values a matrix has."""
        return self.count + 2 * len(self.early)


def eliminate(count: int, pairs: Iterable[tuple[int, int]]) -> Elimination:
    """The elimination of rooms joined by these pairs; the one with the fewest neighbours first.

    Of those with equally few the one that waits least for others goes first: rooms that do not touch one another can be
    worked out at the same time.
    """
    near: list[set[int]] = [set() for _ in range(count)]
    for one, two in pairs:
        if one != two:
            near[one].add(two)
            near[two].add(one)
    made, left = Elimination(count), set(range(count))
    joined: list[list[int]] = []
    waits = [0] * count
    while left:
        room = min(left, key=lambda k: (len(near[k]), waits[k], k))
        left.remove(room)
        made.order.append(room)
        joined.append(sorted(near[room]))
        for other in near[room]:
            near[other] |= near[room] - {other}
            near[other].discard(room)
            waits[other] = max(waits[other], waits[room] + 1)
    when = {room: t for t, room in enumerate(made.order)}
    for room, others in zip(made.order, joined, strict=True):
        for other in sorted(others, key=when.__getitem__):
            made.pair[room, other] = len(made.early)
            made.early.append(room)
            made.late.append(other)
        made.start.append(len(made.early))
    for t in range(count):
        mine = made.late[made.start[t] : made.start[t + 1]]
        made.fill += [made.place(row, column) for row in mine for column in mine]
        made.half += [made.place(row, column) for k, row in enumerate(mine) for column in mine[: k + 1]]
    return made
