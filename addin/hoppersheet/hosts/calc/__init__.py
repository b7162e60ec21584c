"""LibreOffice Calc: the add-in, its installation, and a headless office to compute with.

In the office run :mod:`~.component`, :mod:`~.load_job` and :mod:`~.cell_values` (Python 3.9, with
``uno``), packed by :mod:`~.extension`; :mod:`~.worker` runs on the office's Python beside it. All
the rest runs on hoppersheet's own Python, which has no ``uno``.
"""
