"""Bulk sizing of a job list that somebody sent.

``opening`` opens it, whatever it is (``text_files``, ``workbooks``), and decides how it is read;
``sizing`` runs the rows through :class:`hoppersheet.tables.job_rows.JobSizer`; ``receipt`` says how
it was read; ``terminal``, ``text_output``, ``book_output`` and ``formulas_output`` show the
answers. Text files stream: a million rows need no more memory than a thousand.
"""

from .opening import JobFile, Stated, check_file, open_catalog, open_jobs
from .sizing import SizedList, size_list

__all__ = ["JobFile", "SizedList", "Stated", "check_file", "open_catalog", "open_jobs", "size_list"]
