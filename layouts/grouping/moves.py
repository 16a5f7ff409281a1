"""What one move of a cell from group to group asks and changes, compiled.

Each question about a move is a function of its own. What runs at every step takes single numbers
or reads its arrays in one loop with one way out: else the compiled code counts references to the
arrays anew at each call, which takes longer than the work itself (measured: twice the time).

Throughout: ``a`` a cell of group ``k`` that may go to group ``j``; ``group`` (n,) of each cell,
0 where the site is empty; ``around`` (n, d) its neighbours by angle, -1 after the last;
``size`` (S+1,) cells of each group; ``front`` (S+1,) touching pairs between group k and k + 1.
"""

from __future__ import annotations

import numpy as np

from layouts.placing.compiled import compiled

__all__ = [
    "MODULUS",
    "MOST_CHANGES",
    "beside_low_front",
    "book_over",
    "front_gain",
    "may_join",
    "more_wrong",
    "next_random",
    "pin_gain",
    "pull_gain",
    "put_back",
    "stays_whole",
    "touching_gain",
    "with_empty_sites",
    "with_room",
]

# Lehmer's generator, modulus 2^31 - 1 and multiplier 48271 (from memory: Park and Miller's
# later choice): the same numbers compiled and uncompiled.
MULTIPLIER = 48271
MODULUS = 2147483647

MOST_CHANGES = 16  # of boundaries in one move: two a neighbour
TRIES = 4  # at meeting a boundary below the target, before any cell will do


@compiled
def next_random(state: int) -> int:
    """The random number after ``state``, from 1 to the modulus less 1."""
    # modulo 2^31 - 1 without dividing: what lies above 31 bits counts again from the first bit
    product = state * MULTIPLIER
    folded = (product & MODULUS) + (product >> 31)
    return folded - MODULUS if folded >= MODULUS else folded


@compiled
def beside_low_front(state: int, front: np.ndarray, target: int) -> tuple[int, int]:
    """A group at a boundary below the target (0: none was met), and the new state."""
    k = 0
    tries = 0
    while k == 0 and tries < TRIES:
        tries += 1
        state = next_random(state)
        low = 1 + state % (len(front) - 2)
        if front[low] < target:
            state = next_random(state)
            k = low + (state & 1)
    return k, state


@compiled
def with_empty_sites(k: int, j: int, state: int, empty: int, wanted: int) -> int:
    """The group that a cell of k shall join, offered j: k itself where it has to stay empty.

    There are never fewer empty sites than wanted, and a new one may open anywhere.
    """
    if wanted > 0 and empty <= wanted:
        if k == 0:
            return k
        if state % 64 == 0:
            return 0
    return j


@compiled
def may_join(k: int, j: int, size_k: int, size_j: int, room: int, pin: int) -> bool:
    """Whether sizes and pin let a cell go from group k to j."""
    if j == k or (k > 0 and size_k == 1) or (j > 0 and size_j >= room):
        return False
    return not (pin > 0 and (pin == k or j == 0))


@compiled
def stays_whole(a: int, group: np.ndarray, around: np.ndarray, corner: np.ndarray) -> bool:
    """Whether the group that cell a leaves stays in one piece, judged by the ring round it."""
    k = group[a]
    most = around.shape[1]
    mine = 0
    links = 0
    ring = 0
    while ring < most and around[a, ring] >= 0:
        ring += 1
    for s in range(ring):
        if group[around[a, s]] == k:
            mine += 1
            n = around[a, s + 1] if s + 1 < ring else around[a, 0]
            if ring > 1 and group[n] == k and n != around[a, s]:
                w = corner[a, s]
                if w == -2 or (w >= 0 and group[w] == k):
                    links += 1
    return mine - links <= 1


@compiled
def touching_gain(
    a: int,
    j: int,
    group: np.ndarray,
    around: np.ndarray,
    step_cost: np.ndarray,
    grown: np.ndarray,
    at: np.ndarray,
) -> tuple[float, int]:
    """Cost of the steps in group round cell ``a`` when it joins ``j``, and how many boundaries
    change.

    ``at`` takes those boundaries, some twice; to ``grown`` (S+1,) is added what each grows by."""
    k = group[a]
    gain = 0.0
    marks = 0
    s = 0
    while s < around.shape[1] and around[a, s] >= 0:
        m = group[around[a, s]]
        s += 1
        if m == 0:
            continue
        if k > 0:
            d = abs(k - m)
            gain -= step_cost[d]
            if d == 1:
                low = min(k, m)
                grown[low] -= 1
                at[marks] = low
                marks += 1
        if j > 0:
            d = abs(j - m)
            gain += step_cost[d]
            if d == 1:
                low = min(j, m)
                grown[low] += 1
                at[marks] = low
                marks += 1
    return gain, marks


@compiled
def front_gain(
    gain: float,
    marks: int,
    front: np.ndarray,
    target: int,
    grown: np.ndarray,
    at: np.ndarray,
    by: np.ndarray,
) -> float:
    """``gain`` with the cost of the boundaries; they are changed, ``grown`` is all 0 again.

    ``by`` takes the change of each boundary in ``at``: all of it the first time it is met."""
    for i in range(marks):
        low = at[i]
        d = grown[low]
        by[i] = d
        if d != 0:
            was = target - front[low]
            now = was - d
            gain += (now * now if now > 0 else 0) - (was * was if was > 0 else 0)
            front[low] += d
            grown[low] = 0
    return gain


@compiled
def put_back(front: np.ndarray, at: np.ndarray, by: np.ndarray, marks: int) -> None:
    """Boundaries as they were before a move that is not made."""
    for i in range(marks):
        front[at[i]] -= by[i]


@compiled
def pin_gain(gain: float, k: int, j: int, pin: int, pin_cost: float) -> float:
    """``gain`` with what a pinned cell costs more in group j than in k."""
    return gain + pin_cost * (abs(j - pin) - abs(k - pin)) if pin > 0 else gain


@compiled
def pull_gain(gain: float, k: int, j: int, series: int, first: float, last: float) -> float:
    """``gain`` with what a cell's pulls by the first and the last group cost more in j than k."""
    if k == 1:
        gain -= first
    if k == series:
        gain -= last
    if j == 1:
        gain += first
    if j == series:
        gain += last
    return gain


@compiled
def more_wrong(size: np.ndarray, wanted: np.ndarray, k: int, j: int) -> int:
    """How many more groups have a wrong size when a cell goes from k to j."""
    more = 0
    if size[k] == wanted[k]:
        more += 1
    elif size[k] == wanted[k] + 1:
        more -= 1
    if size[j] == wanted[j]:
        more += 1
    elif size[j] == wanted[j] - 1:
        more -= 1
    return more


@compiled
def with_room(members: np.ndarray) -> np.ndarray:
    """Rows of members twice as long."""
    rows, room = members.shape
    longer = np.zeros((rows, 2 * room), dtype=np.int64)
    longer[:, :room] = members
    return longer


@compiled
def book_over(
    a: int,
    j: int,
    group: np.ndarray,
    size: np.ndarray,
    members: np.ndarray,
    place: np.ndarray,
) -> None:
    """Book cell ``a`` over to group j, where there is space."""
    k = group[a]
    size[k] -= 1
    end = members[k, size[k]]
    members[k, place[a]] = end
    place[end] = place[a]
    members[j, size[j]] = a
    place[a] = size[j]
    size[j] += 1
    group[a] = j
