"""Bulk sizing of a pasted job list: read it, size each row, show or write the result.

``reading`` opens .csv, .tsv, .xlsx and standard input; ``sizing`` runs the rows through
:class:`hoppersheet.sizing.jobs.JobSizer`; ``writing`` writes .csv, .tsv and .xlsx;
``terminal`` shows a table. Rows stream: a million rows need no more memory than a thousand.
"""

from .reading import JobFile, open_catalog, open_jobs
from .sizing import SizedList, size_list

__all__ = ["JobFile", "SizedList", "open_catalog", "open_jobs", "size_list"]
