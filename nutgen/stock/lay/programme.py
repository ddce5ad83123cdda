"""Linear programmes of few unknowns and many bounds."""

import numpy as np

from nutgen.geometry.mesh import Array

PIVOTS = 300
"""After so many it is left to the library: a tenth of them is much."""

FLAT, MET = 1e-9, 1e-10
"""A smaller pivot is none; a bound that is missed by less is met."""


def greatest(rows: Array, limits: Array, *, within: float) -> Array | None:
    """The point where the last unknown is greatest, the others within a distance of zero.

    rows    : (n, k) of which those that bound the last unknown do so by 1, the others by 0
    limits  : (n,) what rows @ point may be at most
    returns : (k,) or None where no point keeps to all

    The dual simplex method (C. E. Lemke, Naval Res. Logist. Q. 1, 36 (1954)): it begins where one row and the
    distances meet, and takes in the bound that is missed by most for one that holds it back least. A general
    library takes ten times as long, nearly all of it before and after it solves; it has what this does not bring to
    an end, as where bounds all but coincide.
    """
    moves = np.eye(rows.shape[1])[:-1]
    bounds = np.vstack([rows, moves, -moves])
    most = np.concatenate([limits, np.full(2 * len(moves), within)])
    first = int(np.argmin(np.where(rows[:, -1] > 0.0, limits, np.inf)))
    against = np.where(rows[first, :-1] > 0.0, len(moves), 0)
    held = np.append(len(rows) + np.arange(len(moves)) + against, first)
    for _ in range(PIVOTS):
        try:
            inverse = np.linalg.inv(bounds[held])
        except np.linalg.LinAlgError:
            break
        point: Array = inverse @ most[held]
        missed = bounds @ point - most
        worst = int(np.argmax(missed))
        if missed[worst] <= MET:
            return point
        weight, pivot = inverse[-1], bounds[worst] @ inverse
        share = np.where(pivot > FLAT, weight / np.where(pivot > FLAT, pivot, 1.0), np.inf)
        leaves = int(np.argmin(share))
        if share[leaves] == np.inf:
            break
        held[leaves] = worst
    from scipy.optimize import linprog  # few pieces get here; the others need not wait

    aim = -np.eye(rows.shape[1])[-1]
    around = [(-within, within)] * len(moves) + [(None, None)]
    found = linprog(aim, rows, limits, bounds=around, method="highs-ds", options={"presolve": False})
    return np.asarray(found.x) if found.success else None
