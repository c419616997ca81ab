"""Every fault a user can meet, in one tree.

::

    SplitPlannerError          one sentence: what, where, what to do
    ├── ReadError              a model file cannot be read
    ├── OpenSolidError         a model cannot be made into a closed solid
    ├── SolidError             the geometry kernel refused an operation
    ├── CutError               a cut does not divide what it should
    ├── JointError             what should hold a seam has no place on it
    ├── PlanFileError          a plan file cannot be read or does not match its part
    ├── WorkshopError          a printer, material or hardware entry is wrong
    ├── WishesError            a wish cannot be read or does not match its part
    ├── LoadError              a load case cannot be: held nowhere, or loads beside the part
    ├── NoProposalError        no sound plan was found
    ├── UnsoundError           a plan fails the soundness check
    ├── ExportError            the files cannot be written
    ├── ClusterError           the machines that should plan a batch cannot be used
    ├── HelperError            a helper process of the window died, or failed by itself
    └── Cancelled              the user stopped a job; nothing is wrong
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from splitplanner.findings import Finding


class SplitPlannerError(Exception):
    """An expected fault, shown to the user as one sentence and a way out.

    Attributes
    ----------
    subject : str
        The file, piece or seam the fault is in; empty when it concerns the whole job.
    findings : tuple of Finding
        Where it fails, for the view and the report.
    """

    def __init__(
        self, message: str, *, subject: str = "", findings: tuple[Finding, ...] = ()
    ) -> None:
        super().__init__(message)
        self.subject = subject
        self.findings = findings


class ReadError(SplitPlannerError):
    """A model file is missing, of an unknown kind, or damaged."""


class OpenSolidError(SplitPlannerError):
    """A model has holes that healing cannot close; the findings hold the open edges."""


class SolidError(SplitPlannerError):
    """The geometry kernel did not accept a mesh or an operation on it."""


class CutError(SplitPlannerError):
    """A cut misses the piece it names, or names a piece that does not exist."""


class JointError(SplitPlannerError):
    """A pin or screw that is wanted at a place of a seam, or anywhere on it, cannot stand there."""


class PlanFileError(SplitPlannerError):
    """A plan file is damaged, of a newer version, or belongs to another part."""


class WorkshopError(SplitPlannerError):
    """A printer, material or hardware entry is missing or out of range."""


class WishesError(SplitPlannerError):
    """A file of wishes is damaged, a wish makes no sense, or it belongs to another part."""


class LoadError(SplitPlannerError):
    """A load case cannot be reckoned: the part is not held, or a load or support is beside it."""


class NoProposalError(SplitPlannerError):
    """No sound plan was found within the limits given."""


class UnsoundError(SplitPlannerError):
    """A plan fails the soundness check; the findings say why and where."""


class ExportError(SplitPlannerError):
    """The files could not be written; what was there before is whole."""


class ClusterError(SplitPlannerError):
    """The machines that should plan a batch are not reached, or cannot be used."""


class HelperError(SplitPlannerError):
    """A helper process died, or the program failed in it.

    Attributes
    ----------
    trace : str
        Where the program failed, for a report; empty if the process died.
    """

    def __init__(
        self,
        message: str,
        *,
        subject: str = "",
        findings: tuple[Finding, ...] = (),
        trace: str = "",
    ) -> None:
        super().__init__(message, subject=subject, findings=findings)
        self.trace = trace


class Cancelled(SplitPlannerError):
    """The user stopped the job."""
