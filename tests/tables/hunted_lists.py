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
    Messy(
        "a quantity, an item number and notes pass through",
        "Pos,Item,Qty,Output (kg/h),Dry h,Bulk density (kg/L),Lead time (weeks),Note\n"
        "10,I-10,2,45,4,0.6,6,rush\n20,I-20,1,38.5,3,0.65,6,\n30,I-30,1,52,4,0.6,4,\n"
        "40,I-40,3,61,4,0.6,4,\n",
        {
            "I-10": kg(45, 4, 0.6), "I-20": kg(38.5, 3, 0.65), "I-30": kg(52, 4, 0.6),
            "I-40": kg(61, 4, 0.6),
        },
    ),
    *[
        Messy(
            f"not taken by the unit: {heading}",
            f"Job,{heading},Drying hours,Bulk density (kg/L)\nA,45,4,0.6\n",
            f"'{heading}' is not known, though it looks like 'throughput'",
        )
        for heading in ("Max throughput (kg/h)", "Dryer capacity kg/h", "Line 1 kg/h")
    ],
    # 8 x 25 g + 16 g = 216 g every 20 s = 38.88 kg/h
    Messy(
        "parts with their runner",
        "Job,Part weight (g),Cavities,Runner weight (g),Cycle time (s),Dry h,Bulk density kg/L\n"
        "A,25,8,16,20,4,0.6\nB,25,8,,20,4,0.6\n",
        {
            "A": (kg(38.88, 4, 0.6), "and a runner of 16 g"),
            "B": (kg(36, 4, 0.6), "without runners"),
        },
    ),
    # 60 g every 30 s = 7.2 kg/h, 120 g 14.4 kg/h
    Messy(
        "shots where the throughput is blank",
        "Job,Throughput (kg/h),Shot mass (g),Cycle time (s),Dry hours,Bulk density (kg/L)\n"
        "A,14.4,120,30,4,0.6\nB,,60,30,4,0.6\nC,50,120,30,4,0.6\n",
        {
            "A": kg(14.4, 4, 0.6),
            "B": (kg(7.2, 4, 0.6), "60 g every 30 s"),
            "C": (kg(50, 4, 0.6), "the shots or parts give another throughput 14.4 kg/h"),
        },
    ),
    Messy(
        "a cycle typed as a clock time",
        "Job,Shot mass (g),Cycle time,Dry hours,Bulk density (kg/L)\nA,120,0:30,4,0.6\n",
        {"A": "no: minutes and seconds, or hours and minutes"},
    ),
    Messy(
        "grades and resins that the table does not know",
        "Job,Resin,kg/h,Dry hours,Bulk density (kg/L)\nA,PC 2407,45,,0.6\n"
        "B,Xylofoo,45,4,0.6\nC,ABS GF20,45,,0.6\nD,ABS schwarz,45,,0.6\n",
        {
            "A": (kg(45, 4, 0.6), "'PC 2407' taken for PC"),
            "B": (kg(45, 4, 0.6), "'Xylofoo' is not in the resin table"),
            "C": "no: 'ABS GF20' is not in the resin table; ABS alone is",
            "D": (kg(45, 4, 0.6), "from the resin table (ABS"),
        },
    ),
    Messy(
        "rough figures are taken with a mark, limits the wrong way round are asked about",
        f"{HEAD}A,~220,4,0.6\nB,ca. 220,>= 4,0.6\nC,up to 220,PT4H30M,0.6\nD,220,min. 4 h,0.6\n"
        "E,min 220,4,0.6\nF,220,max. 4 h,0.6\nG,220,4,max 0.6\nH,\uff12\uff12\uff10,4,0.6\n",
        {
            "A": (kg(220, 4, 0.6), "throughput '~220' is a rough figure"),
            "B": (kg(220, 4, 0.6), "drying hours '>= 4' is a rough figure"),
            "C": (kg(220, 4.5, 0.6), "throughput 'up to 220' is a rough figure"),
            "D": (kg(220, 4, 0.6), "drying hours 'min. 4 h' is a rough figure"),
            "E": "no: 'min 220' is a limit",
            "F": "no: 'max. 4 h' is a limit",
            "G": "no: 'max 0.6' is a limit",
            "H": kg(220, 4, 0.6),
        },
    ),
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
