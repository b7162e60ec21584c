"""Lists of a second hunt, each with what a careful estimator would make of it.

All invented; the form of an expectation, and where the expected volumes come from, as in
``messy_lists``.
"""

from __future__ import annotations

from tables.messy_lists import Messy, kg

HEAD = "Job,Throughput (kg/h),Drying hours,Bulk density (kg/L)\n"

#: One column each in words that stand in no table, with its unit and nothing else to be meant.
BY_UNIT = (
    ("Menge kg/h", "Dwell (h)", "bulk dens (kg/L)"),
    ("Producción kg/h", "Vortrocknung h", "Densidad a granel kg/l"),
    ("Mass flow kg/h", "Residence time (h)", "Pellet bulk density kg/dm3"),
    ("Extruder output kg/h", "Predrying time h", "Dens. (kg/l)"),
    ("Through-\nput (kg/h)", "Soak hrs", "Apparent density g/cm³"),
)

HUNTED = [
    *[
        Messy(
            f"taken by the unit: {', '.join(headings)}",
            f'Job,"{headings[0]}",{headings[1]},{headings[2]}\nA,45,4,0.6\n',
            {"A": kg(45, 4, 0.6)},
            told=("no other heading can be meant",),
        )
        for headings in BY_UNIT
    ],
    *[
        Messy(
            f"not taken by the unit: {heading}",
            f"Job,{heading},Drying hours,Bulk density (kg/L)\nA,45,4,0.6\n",
            f"'{heading}' is not known, though it looks like 'throughput'",
        )
        for heading in ("Max throughput (kg/h)", "Dryer capacity kg/h", "Line 1 kg/h")
    ],
    Messy(
        "two could be the throughput",
        "Job,Feed (kg/h),Demand (kg/h),Drying hours,Bulk density (kg/L)\nA,45,50,4,0.6\n",
        "'Feed (kg/h)' is not known",
    ),
    Messy(
        "totals in German",
        f"{HEAD}A,20,4,0.6\nB,30,4,0.6\nÜbertrag,50,,\nC,40,4,0.6\nErgebnis,90,4,0.6\n",
        {"A": kg(20, 4, 0.6), "B": kg(30, 4, 0.6), "C": kg(40, 4, 0.6)},
    ),
    Messy("a NUL behind a number", f"{HEAD}A,45\0,4,0.6\nB,45,4,0.6\n", {
        "A": "no: unknown unit", "B": kg(45, 4, 0.6),
    }),
]  # fmt: skip
