"""What goes with every figure of strength, on screen and on paper."""

CAUTIONS = (
    "These figures are estimates for comparing ways to split a part. They are no proof of safety.",
    "The strength between printed layers varies widely with material, moisture, temperature, speed "
    "and printer: print a sample the way the part is printed, and test it.",
    "Do not use them for a part whose failure can hurt someone, unless a licensed engineer answers "
    "for it and the rules of your place are kept.",
)
"""For the screen and the papers, always all of them."""

LEFT_OUT = (
    "Not counted: prying, the bending that a flange brings into its wall, preload and friction of "
    "screws, creep, fatigue, heat, buckling, and notches at holes. Walls are taken as "
    "solid plastic."
)
"""Goes with what a seam holds."""
TAPE_STAYS = (
    "It is taken for granted that the tape's resin holds on the plastic; give its lap shear "
    "strength, from a strip that you tore off, to have that looked at."
)
"""Goes with what a seam with tape holds where that is not known."""
GLUE = (
    "Glue is counted by the lap shear strength that you gave. On printed plastic it scatters "
    "widely with surface, gap and cure: tear a strip that you glued the way you glue the part. "
    "Pulled across, glue opens and peels at far less; where you gave nothing for that, {share:.2g} "
    "of the lap shear strength is taken. What water, heat and a load that lasts take off it is "
    "not counted."
)
"""Goes with what a glued seam holds."""
