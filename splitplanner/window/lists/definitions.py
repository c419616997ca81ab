"""What each figure means, in a sentence or two, for tooltips: the one place that says it."""

from __future__ import annotations

FIGURES = {
    # Of pieces
    "piece": "The number of the piece along the part, in its colour, and how it lies on the bed.",
    "size": "Length, width and height of the piece as it lies on the bed.",
    "fit": (
        "Whether some turn and some place on the bed put the outline of the piece inside the "
        "printable area, less its margin and what is blocked, with its height below the top. "
        "“Turned” means that it only fits askew to the sides of the bed, or better so."
    ),
    "spare": (
        "How much larger the piece could be and still fit the bed; below zero, how much smaller "
        "it would have to be."
    ),
    "overhang": (
        "Area of the faces that lean out further than the material, or else the printer, manages "
        "without support. What rests on the bed or bridges a short gap is not counted."
    ),
    "support": (
        "Volume below the overhanging faces, down to the bed or to the next face below: the room "
        "that support fills."
    ),
    "print time": (
        "By all layers of the piece as it is printed, at the printer's speeds, flow limit and "
        "factor; on a bed of its own, supports included."
    ),
    "estimated time": (
        "How long all pieces take to print, one after another: a rough estimate from volume, "
        "surface, height and support, good enough to compare plans with."
    ),
    "mass": (
        "What the print weighs: walls, solid layers, infill and supports, by the density of the "
        "material and the printer's factor for mass."
    ),
    "filament": (
        "How much filament the print takes, and what that costs where the price of the material is "
        "known."
    ),
    "height": "Of the print from the bed to its highest point.",
    "print direction": "Which direction of the part is up on the bed.",
    "best at": "What the piece has least of this way up, or none of, of all ways that are offered.",
    "supports on the good side": (
        "Area of the good side that supports touch, below them or above, and leave marks on."
    ),
    "travel crossings": (
        "How often the nozzle travels over a gap from one island of a layer to another, where it "
        "may leave a string."
    ),
    "travel crossings seen": "Those of them whose gap ends on the good side.",
    "bed contact": "Area that rests on the bed and holds the print there.",
    "tipping": (
        "By how much the print may be tilted before it falls over the edge of what it stands on; "
        "below zero it stands only by its supports."
    ),
    "direction cost": (
        "All that this way up costs, each figure divided by the value that counts as one and "
        "multiplied by its weight. Lower is better."
    ),
    "seam on the good side": (
        "Length of the outlines of the piece's seams that people see; a seam counts for both its "
        "pieces."
    ),
    "good side on the bed": "Area of the good side that lies on the bed and takes its texture.",
    "findings": "How many things were found here that you should know of; the mark is the worst.",
    # Of seams
    "seam": "The flat area in which two pieces touch.",
    "pieces joined": "The numbers of the two pieces that meet in this seam.",
    "seam seen": "Length of the seam's outlines on the good side, where people see them.",
    "seam hidden": "Length of the seam's outlines where nobody looks, those of holes included.",
    "area": "Of the contact between the two pieces.",
    "room": (
        "The part of the seam in which the middle of a 3 mm pin may stand: far enough from every "
        "edge that the wall round it holds."
    ),
    "pins that fit": "How many 3 mm pins fit in the room, three diameters apart.",
    "pins deep enough": (
        "How many of them have material round them for two diameters into both pieces, so that "
        "the holes do not break out."
    ),
    "lever arm": (
        "How far the pins stand from the middle of the seam, in the root mean square along both "
        "directions of its plane. The longer, the better they resist bending and twisting."
    ),
    "pins placed": "How many dowel pins there are across the seam, their diameter and length, mm.",
    "screws placed": (
        "How many screws there are across the seam, their thread and length, mm, and what the "
        "thread goes into."
    ),
    "hardware": "What you have to buy for this seam, by its standards.",
    "flange": (
        "An internal rim along the hidden side of the seam, on both pieces: from the wall to its "
        "free edge, and its thickness on one side of the seam."
    ),
    "register": (
        "A form in the seam itself that keeps the pieces in line, and how far it stands up from "
        "the piece below."
    ),
    "tape": "Fibre tape with resin over the seam on its hidden side: plies, width and length.",
    "fastener": "Each pin of the seam by its number, and each screw by its letter.",
    "fastener u": "Where it stands in the plane of the cut, along the first of its two directions.",
    "fastener v": "Where it stands in the plane of the cut, along the second of its directions.",
    "fastener size": "Diameter of the pin, or the screw's thread.",
    "fastener length": "Of the pin or the screw, as it is sold.",
    "head": "The piece that the head of the screw is in, and what its thread goes into.",
    "seat": "How far from the cut the head of the screw, or its washer, bears.",
    # Of the assembly
    "step": "One push that joins two groups of pieces; the steps are done in this order.",
    "moving": "The numbers of the pieces that are moved; those of a group hang together already.",
    "standing": "The numbers of the pieces that stand still, onto which the others are pushed.",
    "way": (
        "The direction of the push for one who stands before the part: x to the right, y to the "
        "back and z up. ⊗ goes away from him, ⊙ comes towards him."
    ),
    "way in the part": "The direction of the push along the axes of the part.",
    "way in": (
        "How far the pieces go straight at the end: from where the pins or the register of one "
        "reach the other, or as far as they slide in it. Pieces that butt flat have none."
    ),
    "seams closed": "The seams that this push closes, and the pins on which it slides.",
    "tightened": (
        "The screws that are put in and tightened when these seams are closed, and whether tape "
        "goes over them then."
    ),
    "tools": (
        "Width across flats of the hex key or driver that turns the screws, and of the spanner for "
        "nuts that lie open. The findings tell of screws that neither reaches."
    ),
    # Of beds
    "bed": "A print: all that is on the bed at once.",
    "pieces on it": (
        "The numbers of the pieces that are printed together on it. Printed braces have beds of "
        "their own, after those of the pieces, and are filled altogether."
    ),
    "bed time": (
        "For all its pieces at once, layer by layer: changes of layers are shared, and a small "
        "layer of one piece sets while another is printed."
    ),
    "bed layers": "Of the highest of its pieces.",
    "bed support": "Room that the support of all its pieces fills.",
    "bed free": (
        "Share of the bed, without its margin and what is blocked, that no piece is over when it "
        "is seen from above."
    ),
    # Of what it takes
    "amount": "How many, or how much with its unit.",
    "needed": "What it is.",
    "standard": "The standard by which it is ordered, or what the tape is.",
    "needed size": "Thread, or diameter of a pin, or width of a tape; mm, as it is sold.",
    "needed length": "Length as it is sold; of tape the plies that are cut, by their length.",
    "where used": "How many go into each seam.",
    "laminate": (
        "What the tape weighs dry, and the resin that stays in the laminate with it. A quarter "
        "more is mixed for what is lost in pot and brush."
    ),
    # Of cuts
    "cut": "Cuts are made in this order; a later one may divide what an earlier one left.",
    "divides": "The one piece that this cut divides, or all that its plane meets.",
    "station": (
        "Where the plane crosses the axis of the chart: the distance along it from the low end of "
        "the part. Tilting a plane leaves this as it is."
    ),
    "lean": (
        "Angle between the plane's normal and the axis of the chart: 0° is square across it, 90° "
        "runs along it, and 180° is square across it with above and below exchanged."
    ),
    "turn": (
        "To which side the plane leans, counted about the axis of the chart from the first "
        "direction across it to the second. A plane that does not lean has none."
    ),
    "offset": (
        "Distance of the plane from the origin of the model, along the plane's normal. It shifts "
        "the plane without tilting it."
    ),
    # Of plans
    "plan score": (
        "All figures added up, each divided by the value that counts as one and multiplied by its "
        "weight. Lower is better."
    ),
    "weight": (
        "How much one reference of the figure adds to the plan score. With 0 it does not count."
    ),
    "estimated": (
        "Measured on a lighter copy of the part while the search goes on; the exact figures "
        "follow and may differ a little."
    ),
    "sound": (
        "A plan is sound when every piece is closed, in one body, fits the bed and is nowhere "
        "thinner than a printed line, all pieces add up to the part, every pin lies in material, "
        "and the pieces can be put together."
    ),
    "seams lacking room": "How many seams have no room for two pins with material round them.",
    "islands": (
        "Separate outlines in one printed layer. Each one more means that the nozzle travels over "
        "a gap, where it may leave a string."
    ),
    # Of strength
    "load case": "What happens to the part, by its name.",
    "load": (
        "Where the part is held and what acts on it; stations are mm from its low end along the "
        "axis of the load case."
    ),
    "ratio to the uncut part": (
        "What the plan holds of the load case, over what the part holds as if printed in one. More "
        "than 100 % where braces help or layers lie better in the pieces."
    ),
    "factor": "How many times the load it holds; below 1 it gives way.",
    "way held": (
        "What the seams are held by. Each row has all that the row above it has, and something "
        "besides; the last one is the plan as it is."
    ),
    "gives way": "What fails first when the load grows: a seam, a piece along its layers, a brace.",
    "weakest seam": "The seam that holds least, and how many times the load.",
    "layer share": (
        "Of the strength of the pieces at their weakest place, as their layers lie: what the load "
        "takes; above 100 % a piece fails between its seams."
    ),
    "brace stress": (
        "The largest stress in a brace where it takes the most that it could, and the stress from "
        "which its sheet stays bent."
    ),
    "brace": "A stiff strip that is bolted over seams, by its name.",
    "brace sheet": "What it is cut from, or that it is printed, and how thick.",
    "brace stations": "Where it begins and ends along its way, from the low end of the part.",
    "brace depth": (
        "From its inner to its outer edge; and its bolts, and what their threads go into."
    ),
    "brace share": (
        "How much of the bending it takes where it takes most, with free slip on the part and with "
        "none: the truth lies between."
    ),
    "cells stiffness": (
        "Work that the load does on the part printed in one, over what it does on the plan: how "
        "stiff the plan is beside the uncut part."
    ),
    "cells deflection": (
        "The largest way that a corner of a piece moves, or where it is loaded along the load."
    ),
    "cells share 99": (
        "The share of their strength that 99 % of the surface take at most; above 100 % it fails."
    ),
    "cells share 95": "The share of their strength that 95 % of the surface take at most.",
    "cells screw": "The largest pull in a screw with all prying, and its seam.",
    "cells opening": "How far the seam gapes at its widest place.",
    "cells gaping": "Share of the contact that is open.",
    "cells screws": "Pull in each screw of the seam, in the order of its letters.",
    "live pull": (
        "The largest pull in a screw of the seam as it was checked and now, and in which one now."
    ),
    "live by hand": (
        "Its pull over what the hand formula gives it, under the same load on the seam. That "
        "formula knows no prying, so that it is a lower bound."
    ),
    "live factors": "The same of each screw, in the order of its letters; none where it is 0.",
    "cells across": "The largest force across a pin or screw of the seam.",
    "seam station": (
        "Of the middle of the seam along the axis of the load case, from the part's low end."
    ),
    "seam ratio": "What the seam holds, over what the uncut part holds at its weakest place.",
    "seam gives way": "How the seam fails first: which screw, pin, wall or tape, and how.",
    "seam stress": (
        "The largest stress across the seam as if it were whole, with what braces leave of the "
        "load."
    ),
}
"""By the name of a column or figure."""

CRITERIA_MEANING = {
    "pieces": "How many pieces the part is cut into.",
    "too large for the bed": "How much smaller the pieces that do not fit the bed had to be.",
    "tight fit": "How many pieces fill the bed to its edge, with less than 1 % to spare.",
    "overhang area": (
        "Area that leans out further than the printer manages without support, beside the surface "
        "of the part."
    ),
    "support volume": "Room that support fills below overhangs, beside the volume of the part.",
    "hardly touching the bed": (
        "How many pieces rest on less than 25 mm² of the bed, a square of 5 mm; they come loose."
    ),
    "seam seen": "Length of the seams on the good side, beside the diagonal of the part.",
    "seam hidden": "Length of the seams where nobody looks, beside the diagonal of the part.",
    "seams without room for two pins": (
        "How many seams have no room for two 3 mm pins with material round them; one that has "
        "room for a single pin counts half."
    ),
    "print time": (
        "How long all pieces take to print, one after another: a rough estimate by which plans are "
        "compared. The table of pieces has the hours by layers."
    ),
    "print beds": "How many beds have to be filled when pieces share one where they can.",
    "uneven pieces": (
        "How far the pieces are from having one volume: standard deviation over the mean."
    ),
    "slender prints": (
        "Pieces that stand more than four times as tall as they are wide; they wobble under the "
        "nozzle."
    ),
    "plan without bed contact": (
        "The share of a piece's outline, seen from above, in which it does not touch the bed: the "
        "mean over the pieces. Such prints lift at their edges and tip over."
    ),
    "travel crossings": (
        "How often the nozzle travels from one island of a layer to another, over a gap in which "
        "it may leave a string."
    ),
    "travel crossings seen": "Travel crossings beside the good side, where a string would show.",
    "marks on the good side": (
        "Area of the good side that supports touch or that lies on the bed, beside the surface of "
        "the part."
    ),
    "printing risks": (
        "Sharp tips in mid-air, narrow round holes, undersides too long to bridge and thin "
        "contact, each one place. Corners that may curl up count by how far out they lie."
    ),
    "strength lost at seams": (
        "By how much less of its worst load case the part holds at its weakest seam than uncut, in "
        "per cent; 0 without load cases."
    ),
    "layers pulled apart at seams": (
        "Seams whose load pulls at the layers of a piece, which is weakest from layer to layer."
    ),
    "layers across the long axis": (
        "Pieces whose layers lie across the part's long axis, along which bending pulls."
    ),
    "seams out of a driver's reach": (
        "The share of places on each seam at which no driver could reach a screw, added up."
    ),
    "seam seen from your places": (
        "Length of the seams that people see from where they stand, beside the diagonal."
    ),
}
"""By the name of a criterion of the plan score."""


def definition(figure: str) -> str:
    """Return what a figure means.

    Raises
    ------
    KeyError
        If it has no definition.
    """
    return FIGURES[figure]


def criterion_definition(criterion: str) -> str:
    """Return what a criterion of the plan score counts; the name itself if it is unknown."""
    return CRITERIA_MEANING.get(criterion, criterion)
