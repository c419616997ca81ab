"""Which screws the dialog of how seams are held has to offer, from the hardware shelf."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from splitplanner.plan import Hold
from splitplanner.workshop import Shelf, hardware_shelf


@dataclass(frozen=True)
class Offered:
    """Screws that can be had.

    Attributes
    ----------
    sizes : mapping of standard to sizes
        Sizes of the threads, the smallest first.
    held : mapping of "nut", "insert" and "plastic" to sizes
        For which there are nuts, inserts, and screws that form their thread.
    examples : mapping of the same to sizes
        Of which there is only an example on the shelf, whose figures are nobody's.
    """

    sizes: Mapping[str, tuple[str, ...]]
    held: Mapping[Hold, tuple[str, ...]]
    examples: Mapping[Hold, tuple[str, ...]] = field(default_factory=dict)

    def standards(self, hold: Hold) -> tuple[str, ...]:
        """Return the standards of screws; none for those that form their thread."""
        return () if hold == "plastic" else tuple(self.sizes)

    def sizes_of(self, hold: Hold, standard: str) -> tuple[str, ...]:
        """Return the sizes that can be had of a standard and for what the thread goes into."""
        held = self.held.get(hold, ())
        if hold == "plastic":
            return held
        return tuple(size for size in self.sizes.get(standard, ()) if size in held)


def offered_hardware(shelf: Shelf | None = None) -> Offered:
    """Return what is on a hardware shelf; on the built-in one if none is given."""
    shelf = shelf or hardware_shelf()
    by_diameter = {thread.diameter: thread.size for thread in shelf.threads}
    forming = [each for each in shelf.forming_screws if each.diameter in by_diameter]
    nuts = tuple(nut.size for nut in shelf.nuts)
    inserts = tuple(dict.fromkeys(insert.size for insert in shelf.inserts))
    own_inserts = {insert.size for insert in shelf.inserts if not insert.is_example}
    plastic = tuple(dict.fromkeys(by_diameter[each.diameter] for each in forming))
    own_plastic = {by_diameter[each.diameter] for each in forming if not each.is_example}
    return Offered(
        {standard: shelf.screw_sizes(standard) for standard in shelf.screw_standards},
        {"nut": nuts, "insert": inserts, "plastic": plastic},
        {
            "insert": tuple(size for size in inserts if size not in own_inserts),
            "plastic": tuple(size for size in plastic if size not in own_plastic),
        },
    )
