"""Finds the best plan of every small part by looking at all there are, and stores what it found.

Run by hand, from the folder that holds `tests`: ``python -m tests.suggest.exhaust [NAME ...]``. It
takes some seconds to minutes for each part and writes ``data/exhaustive.json``; with names, only
the entries of these parts are made anew. The same code gives the same file.

**What is exhaustive.** A plan here is a tree of cuts: each divides one connected body, and its
bodies may be cut differently from each other. Looked at are all trees of a part's least number of
pieces, of one more, and so on as long as so many pieces alone do not score as badly as the best
plan that was found. Cuts are square to the part's directions (the axes of the frame; of a turned
part its own axes too), at all offsets of a grid: even steps, and exactly at every flat of the part
that lies along the cut. Then the same again with offsets at `NEAR_STEP` around those of the best
few plans of each number of pieces, and at `CLOSE_STEP` around those of the best of them. Every
body prints in the best of all directions that `print_directions` names, by the exact figures (and,
for parts that say so, in those that lean across the bed).

**How it is proved.** What a plan scores is what its pieces score, each alone, and what its seams
score. A later cut can only divide the seam of an earlier one: its parts are no shorter together
and no better for pins. So pieces, with every seam taken as it is when it is cut, give a score that
no plan with this tree goes below. Trees are built from their bodies by dynamic programming, those
whose score so far is worse than the best plan's are left out, and the others are scored whole and
exactly in rising order of that bound, until the bound reaches the best score. The file says for
each number of pieces whether that point was reached (`proved`); if not, `bound` is the score that
no plan on the grid goes below.

**What is not.** Tilted cuts, offsets between the steps, cuts at the even steps that are best only
together with one at a fine step far from the best plans; and print directions that
`print_directions` does not name. A search that looks there may find better plans.
"""

from __future__ import annotations

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
from tests.suggest.guillotine import EACH, Bodies, Body, Place, Search, Tree
from tests.suggest.small_parts import BY_NAME, SMALL_PARTS, SmallPart

STORE = Path(__file__).parent / "data" / "exhaustive.json"
NEAR_STEP, CLOSE_STEP = 1.0, 0.25
"""mm."""
_FEW = 4
"""Around so many plans offsets are looked at more closely."""
_NEAR = 30
"""So many plans are scored exactly even where fewer settle which is the best."""
_MOST_WHOLE = 600
_MOST_COUNTS = 3
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
    tried, proved, bound = 0, search.complete, np.inf
    for index, tree in enumerate(trees):
        limit = min([than, *(plan.score for plan in plans)])
        settled = tree.bound >= limit - 1e-9
        if settled and index >= _NEAR:
            break
        if tried == _MOST_WHOLE:
            proved, bound = False, tree.bound
            break
        tried += 1
        found = whole(search.bodies, tree)
        if found is not None and found.score < than:
            plans.append(found)
    note = {"pieces": count, "trees": len(trees), "scored": tried, "proved": proved}
    if np.isfinite(bound):
        note["bound"] = round(bound, 6)
    return sorted(plans, key=lambda plan: round(plan.score, 9)), note


def differing(plans: Sequence[Whole], apart: float) -> list[Whole]:
    """Return the first few plans that have a cut further than `apart` from those of the others."""
    chosen: list[Whole] = []
    for plan in plans:
        known = [sorted(one.tree.places) for one in chosen]
        mine = sorted(plan.tree.places)
        if len(chosen) < _FEW and not any(_near(mine, other, apart) for other in known):
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
    for count in range(part.least, part.least + _MOST_COUNTS):
        if best is not None and EACH * count >= best.score:
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
        "bed": str(part.bed),
        "step": part.step,
        "near_step": NEAR_STEP,
        "close_step": CLOSE_STEP,
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
    start, reach = differing(plans, step), step
    for finer in (NEAR_STEP, CLOSE_STEP):
        if not start or count == 1:
            break
        offsets = around(start, reach, finer, len(bodies.directions))
        found, note = best_of(Search(bodies, offsets), count, plans[0].score)
        notes.append({**note, "step": finer})
        plans = [*found, *plans]
        start, reach = differing(plans, reach)[:2], finer
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
