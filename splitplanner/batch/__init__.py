"""Plans many models, on this machine or on several, with one table as the result.

::

    OUT/<model>/      what `splitplanner.job.write` writes for each
    OUT/batch.csv     the table, one model a row
    OUT/batch.json    the same
    OUT/.batch/       what the batch notes, so that a later run goes on where it stopped
"""

from splitplanner.batch.cluster import cluster_executor, executor_at
from splitplanner.batch.many import plan_many
from splitplanner.batch.models import folder_names, models_in
from splitplanner.batch.rows import BatchResult, BatchRow, Outcome
from splitplanner.batch.tables import batch_csv, batch_json, batch_record, batch_table
from splitplanner.batch.task import BatchOptions

__all__ = [
    "BatchOptions",
    "BatchResult",
    "BatchRow",
    "Outcome",
    "batch_csv",
    "batch_json",
    "batch_record",
    "batch_table",
    "cluster_executor",
    "executor_at",
    "folder_names",
    "models_in",
    "plan_many",
]
