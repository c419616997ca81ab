"""Finds the best plan of every small part by looking at all there are, and stores what it found.

Run by hand, from the folder that holds `tests`: ``python -m tests.suggest.exhaust [NAME ...]``. It
takes some seconds to minutes for each part and writes ``data/exhaustive.json``; with names, only
the entries of these parts are made anew. The same code gives the same file.

**What is exhaustive.** A plan here is a tree of cuts: each divides one connected body, and the
bodies it leaves may be cut differently from each other. Looked at are all trees of a part's least
number of pieces and of one more; if that scores better, of one more again, and so on; but none of
so many pieces that these alone score as badly as the best plan that was found. Cuts are square to
the part's directions (the axes of the frame; of a turned part its own axes too; diagonals and
slanting faces where the part says so), at all offsets of a grid: even steps, the middle, and
exactly at every flat of the part that lies along the cut. Then the same again at finer and finer
steps (`FINER_STEPS`) around the cuts of the best few plans of that number of pieces: all trees
with cuts at any of these offsets. Every body prints in the best of all directions that
`print_directions` names, by the exact figures (of parts that say so, a body that fits in none of
these, in the best of those that lean across the bed).

**How it is proved.** What a plan scores is what its pieces score, each alone, and what its seams
score. A later cut can only divide the seam of an earlier one: its parts are no shorter together
and no better for pins. So pieces, with every seam taken as it is when it is cut, give a score that
no plan with this tree goes below. Trees are built from their bodies by dynamic programming, those
whose score so far is worse than the best plan's are left out, and the others are scored whole and
exactly in rising order of that bound, until the bound reaches the best score. The file says for
each search whether that point was reached (`proved`); if not, `bound` is what the plans that were
not scored do not go below. `tests.suggest.test_guillotine` compares all this with a plain loop.

**What is not.** Cuts along other directions, offsets between the steps, fine offsets far from the
best plans of the even steps, and print directions that `print_directions` does not name. A search
that looks there may find better plans.
"""

from __future__ import annotations

import itertools
import json
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from splitplanner.findings import faults
from splitplanner.plan import WHOLE, Cut, Division, divide
from splitplanner.plan.pieces import named_bodies
from splitplanner.score import measure, scorecard, soundness
from tests.suggest.guillotine import EACH, KEPT, Bodies, Body, Place, Search, Tree
from tests.suggest.small_parts import BY_NAME, SMALL_PARTS, SmallPart

STORE = Path(__file__).parent / "data" / "exhaustive.json"
FINER_STEPS = (5.0, 1.0, 0.25)
"""mm; those below a part's own step are used."""
_FEW = {1: 0, 2: 4, 3: 2}
"""Around so many plans of a number of pieces offsets are looked at more closely; of more, one."""
_NEAR = 30
"""So many plans are scored exactly even where fewer settle which is the best."""
_SPARE = 0.1
"""Plans that score so much worse than the best are still looked at, more closely."""
_SLACK = 1e-4
"""Bounds and scores differ by this much by where the outlines' steps of a millimetre begin."""


@dataclass(frozen=True)
class Whole:
    """A plan that was scored exactly."""

    score: float
    tree: Tree
    cuts: tuple[Cut, ...]
    division: Division
    ups: dict[str, tuple[float, float, float]]


def cuts_of(bodies: Bodies, tree: Tree, body: Body, name: str = WHOLE) -> Iterator[Cut]:
    """Yield the cuts of a tree, each naming the piece that it divides."""
    if tree.at is None:
        return
    yield Cut(bodies.plane(tree.at), name)
    halves = bodies.halves(body, tree.at)
    assert halves is not None
    stem = "" if name == WHOLE else f"{name}."
    branches = iter(tree.branches)
    for digit, side in (("1", halves[0]), ("2", halves[1])):
        solids = [one.solid for one in side]
        for one, called in zip(side, named_bodies(f"{stem}{digit}", solids), strict=True):
            yield from cuts_of(bodies, next(branches), one, called)


def whole(bodies: Bodies, tree: Tree) -> Whole | None:
    """Score a plan exactly; None if it is not sound."""
    cuts = tuple(cuts_of(bodies, tree, bodies.root))
    division = divide(bodies.solid, cuts)
    score, ups = 0.0, {}
    for piece in division.pieces:
        body = bodies.body(piece.solid)
        score += bodies.printed(body)
        assert body.figures is not None
        ups[piece.name] = body.figures.up
    score += bodies.seams_score(division)
    if faults(soundness(division, ups, cuts, bodies.printer)):
        return None
    return Whole(score, tree, cuts, division, ups)


def best_of(search: Search, count: int, than: float = np.inf) -> tuple[list[Whole], dict[str, Any]]:
    """Return sound plans of `count` pieces that score less `than`, best first, and what was done.

    The best for sure where `proved`, and others that come near it.
    """
    trees = search.trees(count, than + _SLACK)
    plans: list[Whole] = []
    best, tried = than, 0
    for tree in trees:
        if tree.bound >= best - 1e-9 and tried >= _NEAR:
            break
        tried += 1
        found = whole(search.bodies, tree)
        if found is not None and found.score < than:
            plans.append(found)
            best = min(best, found.score)
    bound = np.inf
    if len(trees) == KEPT:
        bound = trees[-1].bound
    if trees and not search.complete:
        # Of every body the best trees are kept, so nothing that was left out is below the best.
        bound = trees[0].bound
    proved = bool(bound >= best - 1e-9)
    note = {"pieces": count, "trees": len(trees), "scored": tried, "proved": proved}
    if not proved:
        note["bound"] = round(bound, 6)
    return sorted(plans, key=lambda plan: round(plan.score, 9)), note


def differing(plans: Sequence[Whole], apart: float, most: int) -> list[Whole]:
    """Return the first plans that have a cut further than `apart` from those of the others."""
    chosen: list[Whole] = []
    for plan in plans:
        known = [sorted(one.tree.places) for one in chosen]
        mine = sorted(plan.tree.places)
        if len(chosen) < most and not any(_near(mine, other, apart) for other in known):
            chosen.append(plan)
    return chosen


def _near(one: list[Place], other: list[Place], apart: float) -> bool:
    if [axis for axis, _ in one] != [axis for axis, _ in other]:
        return False
    return all(abs(a - b) <= apart for (_, a), (_, b) in zip(one, other, strict=True))


def grid(bodies: Bodies, step: float) -> list[list[float]]:
    """Return even offsets along each direction, and those of the flats that lie across it."""
    solid, rows = bodies.solid, []
    for direction in bodies.directions:
        heights = solid.vertices @ direction
        low, high = float(heights.min()), float(heights.max())
        flat = np.abs(solid.face_normals @ direction) > 1 - 1e-9
        flats = heights[solid.faces[flat][:, 0]]
        even = np.arange(low + step, high - 1e-6, step)
        rows.append(_distinct([*even, (low + high) / 2, *flats]))
    return rows


def around(plans: Iterable[Whole], reach: float, step: float, count: int) -> list[list[float]]:
    """Return offsets within `reach` of those of `plans` along each of `count` directions."""
    rows: list[list[float]] = [[] for _ in range(count)]
    shifts = np.arange(-round(reach / step), round(reach / step) + 1) * step
    for plan in plans:
        for axis, offset in plan.tree.places:
            rows[axis] += (offset + shifts).tolist()
    return [_distinct(row) for row in rows]


def _distinct(offsets: Sequence[float]) -> list[float]:
    return sorted({round(float(offset), 6) for offset in offsets})


def exhausted(part: SmallPart) -> dict[str, Any]:
    """Return what there is to know of the best plan of one part."""
    bodies = Bodies(part)
    best: Whole | None = None
    notes: list[dict[str, Any]] = []
    by_count: dict[str, float] = {}
    even = Search(bodies, grid(bodies, part.step))
    for count in itertools.count(part.least):
        if best is not None and EACH * count >= best.score:
            break
        if best is not None and count > max(part.least, len(best.division.pieces)) + 1:
            break
        # Plans that come near the best may yet be better at a finer step.
        than = np.inf if best is None else best.score + _SPARE
        plans = _of_count(even, count, part.step, than, notes)
        if plans:
            by_count[str(count)] = round(plans[0].score, 6)
            best = min([plans[0], *([best] if best else [])], key=lambda plan: plan.score)
    assert best is not None, f"no sound plan of {part.name}"
    figures = measure(best.division, best.ups, bodies.printer, bodies.seen)
    exact = scorecard(figures).total
    assert abs(exact - best.score) < 1e-9, (part.name, exact, best.score)
    return {
        "volume": round(bodies.solid.volume, 3),
        "area": round(bodies.solid.area, 3),
        "bed": str(part.bed),
        "step": part.step,
        "finer_steps": [step for step in FINER_STEPS if step < part.step],
        "directions": np.round(bodies.directions, 6).tolist(),
        "offsets": [len(row) for row in even.offsets],
        "splits": bodies.splits,
        "searches": notes,
        "too_many_pieces": int(np.ceil(round(best.score / EACH, 9))),
        "best_by_pieces": by_count,
        "best_score": round(best.score, 6),
        "best_pieces": len(best.division.pieces),
        "best_cuts": [_written(cut) for cut in best.cuts],
        "print_directions": {
            name: np.round(up, 6).tolist() for name, up in sorted(best.ups.items())
        },
    }


def _of_count(
    even: Search, count: int, step: float, than: float, notes: list[dict[str, Any]]
) -> list[Whole]:
    """Return the best plans of `count` pieces, looked for at finer and finer steps."""
    bodies = even.bodies
    if count > 2:
        # What a quick look finds rules out most of the rest.
        quick, _ = best_of(Search(bodies, grid(bodies, 4 * step)), count, than)
        than = min([than, *(plan.score + _SPARE for plan in quick[:1])])
    plans, note = best_of(even, count, than)
    notes.append({**note, "step": step})
    few, reach = _FEW.get(count, 1), step
    for finer in [finer for finer in FINER_STEPS if finer < step]:
        start = differing(plans, reach, few)
        if not start:
            break
        offsets = around(start, reach, finer, len(bodies.directions))
        found, note = best_of(Search(bodies, offsets), count, plans[0].score)
        notes.append({**note, "step": finer})
        plans = [*found, *plans]
        few, reach = min(few, 2), finer
    return plans


def _written(cut: Cut) -> dict[str, Any]:
    normal = np.round(cut.plane.normal, 6).tolist()
    return {"normal": normal, "offset": round(cut.plane.offset, 6), "piece": cut.piece}


def main(names: Sequence[str]) -> None:
    """Search the named parts, or all, and write the file after each."""
    stored = json.loads(STORE.read_text(encoding="utf-8")) if STORE.exists() else {}
    for part in [BY_NAME[name] for name in names] or SMALL_PARTS:
        start = time.perf_counter()
        stored[part.name] = entry = exhausted(part)
        known = {small.name: stored[small.name] for small in SMALL_PARTS if small.name in stored}
        STORE.parent.mkdir(exist_ok=True)
        STORE.write_text(json.dumps(known, indent=1) + "\n", encoding="utf-8")
        took = time.perf_counter() - start
        told = f"{part.name}: {entry['best_score']} in {entry['best_pieces']}, {took:.0f} s"
        sys.stdout.write(told + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1:])
