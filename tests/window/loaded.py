"""A bar under load cases with closed forms, and what is known of it, for tests of the window."""

from splitplanner.loaded import HeldWay, LoadAnswer, SeamUnderLoad, StrengthAnswer, Weakest
from splitplanner.plan import Loading, PointLoad, SpreadLoad, cantilever, over_two_supports
from splitplanner.strength import LayerShares, diagrams, section_chain

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
MODULUS = 2000.0
STRENGTH = 50.0
"""MPa, along the layers; the pieces stand half of it."""


def between_supports(low, high, station, force=100.0, name="bending"):
    """Two supports, and a force that presses down."""
    load = PointLoad(station, (0.0, 0.0, -force))
    return Loading(X, over_two_supports(low, high, load, name=name))


def held_at_end(low, start, end, name="shelf"):
    return Loading(X, cantilever(low, SpreadLoad(start, end, (0.0, 0.0, -50.0)), name=name))


def answer_of(solid, loading, seams=(), count=41):
    """What is known of a part: shares are the largest stress over a strength."""
    chain = section_chain(solid, loading.axis, count)
    found = diagrams(chain, loading.case, MODULUS, twist=False)
    share = abs(found.normal_stress).max(axis=1) / STRENGTH

    def layers(times):
        return LayerShares(
            found.positions, times * share, [0] * len(share), [0.0] * len(seams or "1")
        )

    def weakest(kind, name, factor, station):
        return Weakest(kind, name, "screw.thread", factor, station, "thread of screw 1", 1)

    loaded = tuple(
        SeamUnderLoad(name, at, 0.0, None, weakest("seam", name, 3 * ratio, at), ratio, 1.0)
        for name, at, ratio in seams
    )
    most = weakest("part", "", 1.0 / share.max(), found.weakest_station)
    way = HeldWay("fastened", loaded, (), layers(2.0), (), most, 0.5)
    return LoadAnswer(loading, found, None, most, layers(1.0), (way,))


def strength_of(solid, *loadings, seams=()):
    answers = tuple(answer_of(solid, each, seams) for each in loadings)
    return StrengthAnswer(answers, (), (), "PLA", True)
