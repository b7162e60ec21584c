"""Lists of a second hunt, each with what a careful estimator would make of it.

All invented; the form of an expectation, and where the expected volumes come from, as in
``messy_lists``.
"""

from __future__ import annotations

from tables.messy_lists import Messy, kg

HEAD = "Job,Throughput (kg/h),Drying hours,Bulk density (kg/L)\n"

HUNTED = [
    Messy("a NUL behind a number", f"{HEAD}A,45\0,4,0.6\nB,45,4,0.6\n", {
        "A": "no: unknown unit", "B": kg(45, 4, 0.6),
    }),
]  # fmt: skip
